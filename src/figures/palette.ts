import type { Symbol as MarkSymbol } from './scene.js';

/**
 * Colours of paper, ink and the few signals of sheets and pages. Text colours keep 4.5 : 1 on their ground,
 * marks 3 : 1; `rule` is only for lines that carry no meaning of their own.
 */
export const day = {
  paper: '#fbfaf6',
  ink: '#1f2933',
  quiet: '#616e7c',
  rule: '#d9d4c7',
  /** hatching of ground that is not dug */
  hatch: '#b5ae9d',
  accent: '#0072b2',
  warning: '#d55e00',
} as const;

/** The same places at night; the sheet of a printed figure stays paper. */
export const night = {
  paper: '#14191f',
  ink: '#e8e6df',
  quiet: '#a9b1ba',
  rule: '#3a434d',
  hatch: '#4b5560',
  accent: '#56b4e9',
  warning: '#e69f00',
} as const;

/**
 * The eight colours for artefact classes, those that hold 3 : 1 on paper first; the paler ones are drawn with an
 * ink outline (see `needsOutline`). Never more than eight at a time: then small multiples.
 *
 * @see Okabe & Ito 2008, Color Universal Design
 */
export const classColours = [
  '#0072b2',
  '#d55e00',
  '#009e73',
  '#000000',
  '#cc79a7',
  '#e69f00',
  '#56b4e9',
  '#f0e442',
] as const;

/** One symbol for each class colour, so that a drawing holds in black and white; thin ones go with the strong colours. */
export const classSymbols: readonly MarkSymbol[] = [
  'circle',
  'cross',
  'ring',
  'plus',
  'diamond',
  'triangle-down',
  'square',
  'triangle-up',
];

/** Dash and gap lengths for seasons and for classes drawn as lines, in line widths; [] = solid. */
export const linePatterns: readonly (readonly number[])[] = [
  [],
  [6, 2],
  [2, 2],
  [8, 2, 2, 2],
  [1, 1.5],
  [10, 3],
  [6, 2, 2, 2, 2, 2],
  [4, 4],
];

/** Colour stops of a ramp: share of the way from low to high (0 to 1), colour. */
export type Ramp = readonly (readonly [number, string])[];

/** Surfaces: even steps of lightness, alike for readers with and without colour vision. @see Nuñez, Anderton & Renslow 2018, doi:10.1371/journal.pone.0199239 */
export const cividis: Ramp = (
  [
    [0, '#00224e'],
    [22, '#003171'],
    [32, '#1a386f'],
    [48, '#32436d'],
    [64, '#434e6c'],
    [80, '#535a6d'],
    [96, '#61656f'],
    [112, '#6f7073'],
    [128, '#7d7c78'],
    [144, '#8c8878'],
    [160, '#9b9476'],
    [176, '#aba072'],
    [192, '#bcae6c'],
    [208, '#cdbb63'],
    [224, '#dec958'],
    [240, '#f0d846'],
    [255, '#fee838'],
  ] as const
).map(([index, colour]) => [index / 255, colour] as const);

const evenly = (colours: readonly string[]): Ramp => colours.map((c, i) => [i / (colours.length - 1), c] as const);

/** Thickness: one hue, light to dark. @see Brewer 2003, ColorBrewer, sequential Blues */
export const thicknessRamp: Ramp = evenly([
  '#deebf7',
  '#c6dbef',
  '#9ecae1',
  '#6baed6',
  '#4292c6',
  '#2171b5',
  '#08519c',
  '#08306b',
]);

/** Differences: two hues that part at the middle; inside the level of detection nothing is inked. @see Brewer 2003, ColorBrewer, diverging PuOr */
export const differenceRamp: Ramp = evenly([
  '#b35806',
  '#e08214',
  '#fdb863',
  '#fee0b6',
  '#f7f7f7',
  '#d8daeb',
  '#b2abd2',
  '#8073ac',
  '#542788',
]);

/** Colour of a ramp at a share of the way; shares outside 0 to 1 take the end colours. */
export function rampColour(ramp: Ramp, share: number): string {
  const t = Math.min(1, Math.max(0, share));
  let k = 1;
  while (k < ramp.length - 1 && ramp[k][0] < t) k++;
  const [t0, from] = ramp[k - 1];
  const [t1, to] = ramp[k];
  const a = channels(from);
  const b = channels(to);
  const w = (t - t0) / (t1 - t0);
  return `#${a.map((v, i) => hex(v + (b[i] - v) * Math.min(1, Math.max(0, w)))).join('')}`;
}

/**
 * Contrast of two colours, 1 (equal) to 21 (black on white).
 *
 * @param one    '#rrggbb'
 * @param other  '#rrggbb'
 * @see W3C 2023, Web Content Accessibility Guidelines 2.2, relative luminance
 */
export function contrast(one: string, other: string): number {
  const a = luminance(one);
  const b = luminance(other);
  return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
}

/** Whether a mark of this colour is too pale for paper and must be drawn with an ink outline. */
export function needsOutline(colour: string): boolean {
  return contrast(colour, day.paper) < 3;
}

function luminance(colour: string): number {
  const [r, g, b] = channels(colour).map((v) => {
    const share = v / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function channels(colour: string): number[] {
  return [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16));
}

function hex(value: number): string {
  return Math.round(value).toString(16).padStart(2, '0');
}
