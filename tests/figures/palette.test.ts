import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import {
  cividis,
  classColours,
  classSymbols,
  contrast,
  day,
  differenceRamp,
  linePatterns,
  needsOutline,
  night,
  rampColour,
  thicknessRamp,
} from '../../src/figures/palette.js';

test('contrast is 21 for black on white, 1 for equals, and does not mind the order', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 10);
  expect(contrast('#777777', '#777777')).toBe(1);
  // the published borderline pair: #767676 on white is 4.54
  expect(contrast('#767676', '#ffffff')).toBeCloseTo(4.54, 2);
  expect(contrast('#ffffff', '#767676')).toBe(contrast('#767676', '#ffffff'));
});

test.each([
  ['day', day],
  ['night', night],
] as const)('%s: text keeps 4.5 : 1, marks 3 : 1', (_, colours) => {
  for (const text of [colours.ink, colours.quiet, colours.accent]) {
    expect(contrast(text, colours.paper)).toBeGreaterThanOrEqual(4.5);
  }
  expect(contrast(colours.warning, colours.paper)).toBeGreaterThanOrEqual(3);
});

test('the eight class colours are those published, each with its own symbol and line pattern', () => {
  const published = ['#000000', '#e69f00', '#56b4e9', '#009e73', '#f0e442', '#0072b2', '#d55e00', '#cc79a7'];
  expect([...classColours].sort()).toEqual(published.sort());
  expect(new Set(classSymbols).size).toBe(8);
  expect(new Set(linePatterns.map((p) => p.join(' '))).size).toBe(8);
});

test('a class colour holds 3 : 1 on paper or gets an outline, and thin symbols only go with strong colours', () => {
  classColours.forEach((colour, k) => {
    expect(needsOutline(colour)).toBe(contrast(colour, day.paper) < 3);
    if (['cross', 'plus', 'ring'].includes(classSymbols[k])) expect(needsOutline(colour)).toBe(false);
  });
  expect(contrast(day.ink, day.paper)).toBeGreaterThan(3);
});

test('cividis meets its published values and grows lighter all the way', () => {
  expect(rampColour(cividis, 0)).toBe('#00224e');
  expect(rampColour(cividis, 128 / 255)).toBe('#7d7c78');
  expect(rampColour(cividis, 1)).toBe('#fee838');
  expect(rampColour(cividis, -3)).toBe('#00224e');
  expect(rampColour(cividis, 7)).toBe('#fee838');
  let before = 0;
  for (let i = 0; i <= 100; i++) {
    const light = contrast(rampColour(cividis, i / 100), '#000000');
    expect(light).toBeGreaterThan(before);
    before = light;
  }
});

test('thickness runs from light to dark, differences part at the middle', () => {
  const lightness = (ramp: typeof cividis, share: number) => contrast(rampColour(ramp, share), '#000000');
  for (let i = 1; i <= 50; i++) {
    expect(lightness(thicknessRamp, i / 50)).toBeLessThan(lightness(thicknessRamp, (i - 1) / 50));
  }
  expect(lightness(differenceRamp, 0.5)).toBeGreaterThan(lightness(differenceRamp, 0.4));
  expect(lightness(differenceRamp, 0.5)).toBeGreaterThan(lightness(differenceRamp, 0.6));
});

test('the pages use the same colours as the figures', () => {
  const css = readFileSync(new URL('../../src/http/pages/sheet.css', import.meta.url), 'utf8');
  const [bright, dark] = css.split('prefers-color-scheme: dark');
  for (const name of ['paper', 'ink', 'quiet', 'rule', 'accent', 'warning'] as const) {
    expect(bright).toContain(`--${name}: ${day[name]};`);
    expect(dark).toContain(`--${name}: ${night[name]};`);
  }
  expect(css).not.toMatch(/gradient|shadow|animation|transition|@import|url\(/);
});
