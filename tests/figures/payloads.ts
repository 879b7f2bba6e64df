const cores = [
  '<script>alert(1)</script>',
  '<img src=x onerror=alert(1)>',
  '<svg onload=alert(1)>',
  '"><script>alert(1)</script>',
  "'><script>alert(1)</script>",
  '" onmouseover="alert(1)',
  "' onfocus='alert(1)' autofocus='",
  'javascript:alert(1)',
  'JaVaScRiPt:alert(1)',
  'data:text/html,<script>alert(1)</script>',
  ']]><script>alert(1)</script>',
  '<!--<script>alert(1)//-->',
  '</title><script>alert(1)</script>',
  '</script><script>alert(1)</script>',
  '</textarea><script>alert(1)</script>',
  '</style><script>alert(1)</script>',
  '<iframe src="javascript:alert(1)">',
  '<a href="javascript:alert(1)">x</a>',
  '<math><mtext></mtext><mglyph><script>alert(1)</script>',
  '&lt;script&gt;alert(1)&lt;/script&gt;',
  '&#60;script&#62;alert(1)&#60;/script&#62;',
  '<scr<script>ipt>alert(1)</scr</script>ipt>',
  '<body onload=alert(1)>',
  '<?xml version="1.0"?><x/>',
  '<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]>&e;',
  '{{constructor.constructor("alert(1)")()}}',
  // biome-ignore lint/suspicious/noTemplateCurlyInString: the payload is meant to look like one
  '${alert(1)}',
  '`-alert(1)-`',
  '\u2028alert(1)\u2029',
  '<style>@import "x"</style>',
];
const wraps = [
  (p: string) => p,
  (p: string) => `Jar 7 ${p}`,
  (p: string) => `${p} & co`,
  (p: string) => `"${p}"`,
  (p: string) => `'${p}'`,
];

/** Texts that a register may hold and that no page or drawing may take for markup. */
export const payloads: readonly string[] = cores.flatMap((core) => wraps.map((wrap) => wrap(core)));
