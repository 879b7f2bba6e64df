import { expect, test } from 'vitest';
import { shownPieces, shownSentence } from '../../src/figures/sentence.js';

test('the sentence says classes, seasons, window, date and surface', () => {
  expect(
    shownSentence({
      classes: ['lead shot', 'nails'],
      seasons: ['2021', '2022', '2023'],
      windowAreaM2: 238,
      identifiedAsOf: '2025-03-01',
      over: 'thickness',
    }),
  ).toBe(
    'Showing lead shot and nails of 2021 to 2023 in the dug area, 238\u2009m², as known on 2025-03-01, over thickness.',
  );
});

test('nothing chosen is all; gaps between seasons are not bridged; no dug area is said', () => {
  expect(shownSentence({ classes: [], seasons: [], windowAreaM2: 17.25 })).toBe(
    'Showing all classes of all seasons in the dug area, 17.3\u2009m², as known on today.',
  );
  expect(shownSentence({ classes: ['bone'], seasons: ['2021', '2023', '2024'], windowAreaM2: null })).toBe(
    'Showing bone of 2021, 2023 and 2024 in the whole register, no dug area known, as known on today.',
  );
});

test('the pieces joined are the sentence, and each control stands once', () => {
  const shown = { classes: ['bone'], seasons: ['S1'], windowAreaM2: 4, over: 'deposit top' };
  const pieces = shownPieces(shown);
  expect(pieces.map((p) => p.text).join('')).toBe(shownSentence(shown));
  const choices = pieces.flatMap((p) => p.choice ?? []);
  expect(new Set(choices).size).toBe(choices.length);
});
