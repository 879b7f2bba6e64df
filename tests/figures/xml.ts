/** A strict little reader of XML: throws at the first thing that is not well-formed, else gives elements and texts. */
export function readXml(source: string): {
  elements: { name: string; attributes: Record<string, string> }[];
  texts: string[];
} {
  const elements: { name: string; attributes: Record<string, string> }[] = [];
  const texts: string[] = [];
  const open: string[] = [];
  const bad = /[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/u.exec(source);
  if (bad) throw new Error(`a character XML cannot hold at ${bad.index}`);
  let at = 0;
  let roots = 0;
  while (at < source.length) {
    const next = source.indexOf('<', at);
    const text = source.slice(at, next < 0 ? undefined : next);
    if (text !== '') {
      if (open.length === 0 && text.trim() !== '') throw new Error(`text outside the root: ${text}`);
      texts.push(decoded(text));
    }
    if (next < 0) break;
    const tag = /^<(\/?)([A-Za-z][\w:.-]*)((?:\s+[\w:.-]+="[^"<]*")*)\s*(\/?)>/.exec(source.slice(next));
    if (tag === null) throw new Error(`no tag at ${next}: ${source.slice(next, next + 60)}`);
    const [whole, closing, name, attributeText, alone] = tag;
    at = next + whole.length;
    if (closing) {
      const expected = open.pop();
      if (expected !== name) throw new Error(`</${name}> closes <${expected}>`);
      continue;
    }
    if (open.length === 0 && ++roots > 1) throw new Error('a second root');
    const attributes: Record<string, string> = {};
    for (const [, key, value] of attributeText.matchAll(/([\w:.-]+)="([^"]*)"/g)) {
      if (key in attributes) throw new Error(`${key} twice`);
      attributes[key] = decoded(value);
    }
    elements.push({ name, attributes });
    if (!alone) open.push(name);
  }
  if (open.length > 0) throw new Error(`<${open.join('><')}> left open`);
  if (roots === 0) throw new Error('no root');
  return { elements, texts };
}

const entities: Record<string, string> = { '&amp;': '&', '&lt;': '<', '&gt;': '>', '&quot;': '"', '&#39;': "'" };

function decoded(text: string): string {
  return text.replace(/&[^;]{0,10};?/g, (entity) => {
    const character = entities[entity];
    if (character === undefined) throw new Error(`unknown entity ${entity}`);
    return character;
  });
}
