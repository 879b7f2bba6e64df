import type { Mark, Symbol as MarkSymbol, Scene, Stroke } from './scene.js';

const typeface = "'Liberation Sans', Arial, Helvetica, sans-serif";

/**
 * A drawing as SVG text, one user unit to the millimetre: printed at full size a drawn scale holds. The same scene
 * gives the same bytes; names and notes are escaped, whatever they hold.
 */
export function svgText(scene: Scene): string {
  const width = decimal(scene.widthMm);
  const height = decimal(scene.heightMm);
  const head =
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}mm" height="${height}mm" viewBox="0 0 ${width} ${height}" ` +
    `role="img" font-family="${escapeXml(typeface)}">`;
  return `${head}\n<title>${escapeXml(scene.title)}</title>\n${drawn(scene.marks).join('\n')}\n</svg>\n`;
}

/** Text for element content and for attribute values in double or single quotes; what XML cannot hold becomes U+FFFD. */
export function escapeXml(text: string): string {
  return text
    .replace(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu, '\ufffd')
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    .replace(/'/g, '&#39;');
}

/** Marks in order; neighbours that differ only in place (hatching, points of one class) share one path. */
function drawn(marks: readonly Mark[]): string[] {
  const out: string[] = [];
  let look = '';
  let path = '';
  const close = () => {
    if (look !== '') out.push(`<path${look} d="${path}"/>`);
    look = '';
    path = '';
  };
  for (const mark of marks) {
    if (mark.kind === 'group') {
      close();
      out.push(`<g data-name="${escapeXml(mark.name)}">`, ...drawn(mark.marks), '</g>');
    } else if (mark.kind === 'text') {
      close();
      out.push(textElement(mark));
    } else {
      const next = markLook(mark);
      // areas stay apart: joined, overlapping ones would become holes
      if (next !== look || mark.kind === 'area') close();
      look = next;
      path += markPath(mark);
    }
  }
  close();
  return out;
}

type Shape = Exclude<Mark, { kind: 'group' } | { kind: 'text' }>;

function markLook(mark: Shape): string {
  switch (mark.kind) {
    case 'line':
      return ` fill="none"${strokeLook(mark.stroke)}`;
    case 'area': {
      const opacity = mark.opacity === undefined ? '' : ` fill-opacity="${decimal(mark.opacity)}"`;
      const stroke = mark.stroke === undefined ? '' : strokeLook(mark.stroke);
      return ` fill="${mark.fill === null ? 'none' : escapeXml(mark.fill)}" fill-rule="evenodd"${opacity}${stroke}`;
    }
    case 'symbol':
      if (isDrawnByStroke(mark.symbol)) {
        return ` fill="none"${strokeLook({ colour: mark.colour, widthMm: 0.2 * mark.sizeMm })}`;
      }
      return ` fill="${escapeXml(mark.colour)}"${mark.outline === undefined ? '' : strokeLook(mark.outline)}`;
  }
}

function strokeLook(stroke: Stroke): string {
  const dash =
    stroke.dashMm === undefined || stroke.dashMm.length === 0
      ? ''
      : ` stroke-dasharray="${stroke.dashMm.map(decimal).join(' ')}"`;
  return ` stroke="${escapeXml(stroke.colour)}" stroke-width="${decimal(stroke.widthMm)}" stroke-linejoin="round"${dash}`;
}

function markPath(mark: Shape): string {
  switch (mark.kind) {
    case 'line':
      return polyline(mark.points);
    case 'area':
      return mark.rings.map((ring) => (ring.length === 0 ? '' : `${polyline(ring)}Z`)).join('');
    case 'symbol':
      return symbolPath(mark.symbol, mark.at, mark.sizeMm / 2);
  }
}

function polyline(points: readonly (readonly [number, number])[]): string {
  return points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${decimal(x)} ${decimal(y)}`).join('');
}

function isDrawnByStroke(symbol: MarkSymbol): boolean {
  return symbol === 'cross' || symbol === 'plus' || symbol === 'ring';
}

/** Outline of a symbol; all have about the ink of a circle of radius r. */
function symbolPath(symbol: MarkSymbol, [x, y]: readonly [number, number], r: number): string {
  const closed = (...corners: readonly (readonly [number, number])[]) =>
    `${polyline(corners.map(([dx, dy]) => [x + r * dx, y + r * dy] as const))}Z`;
  const strokes = (...lines: readonly (readonly [number, number, number, number])[]) =>
    lines
      .map(([x1, y1, x2, y2]) =>
        polyline([
          [x + r * x1, y + r * y1],
          [x + r * x2, y + r * y2],
        ]),
      )
      .join('');
  switch (symbol) {
    case 'circle':
      return circle(x, y, r);
    case 'ring':
      return circle(x, y, 0.8 * r);
    case 'square':
      return closed([-0.88, -0.88], [0.88, -0.88], [0.88, 0.88], [-0.88, 0.88]);
    case 'triangle-up':
      return closed([0, -1.15], [1.1, 0.8], [-1.1, 0.8]);
    case 'triangle-down':
      return closed([0, 1.15], [-1.1, -0.8], [1.1, -0.8]);
    case 'diamond':
      return closed([0, -1.25], [1.0, 0], [0, 1.25], [-1.0, 0]);
    case 'cross':
      return strokes([-0.85, -0.85, 0.85, 0.85], [-0.85, 0.85, 0.85, -0.85]);
    case 'plus':
      return strokes([-1.1, 0, 1.1, 0], [0, -1.1, 0, 1.1]);
  }
}

function circle(x: number, y: number, r: number): string {
  const radius = decimal(r);
  const across = decimal(2 * r);
  return `M${decimal(x - r)} ${decimal(y)}a${radius} ${radius} 0 1 0 ${across} 0a${radius} ${radius} 0 1 0 -${across} 0Z`;
}

function textElement(mark: Extract<Mark, { kind: 'text' }>): string {
  const [x, y] = mark.at;
  const anchor = mark.anchor === 'start' ? '' : ` text-anchor="${mark.anchor}"`;
  const weight = mark.weight === 'bold' ? ' font-weight="bold"' : '';
  const turn = mark.turnDeg ? ` transform="rotate(${decimal(mark.turnDeg)} ${decimal(x)} ${decimal(y)})"` : '';
  const place = `x="${decimal(x)}" y="${decimal(y)}" font-size="${decimal(mark.sizeMm)}" fill="${escapeXml(mark.colour)}"`;
  return `<text ${place}${anchor}${weight}${turn}>${escapeXml(mark.text)}</text>`;
}

/** Millimetres to the thousandth, without idle zeros. @throws Error when a mark has no finite place: a bug of its maker */
function decimal(value: number): string {
  if (!Number.isFinite(value)) throw new Error(`a drawing needs finite numbers, got ${value}`);
  const text = value.toFixed(3).replace(/\.?0+$/, '');
  return text === '-0' ? '0' : text;
}
