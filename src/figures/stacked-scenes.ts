import type { Mark, Scene } from './scene.js';

/** Several sheets of one width below each other, as one drawing. @param title  for a reader who cannot see it */
export function stackScenes(scenes: readonly Scene[], title: string): Scene {
  const marks: Mark[] = [];
  let heightMm = 0;
  for (const scene of scenes) {
    marks.push(...scene.marks.map((mark) => lowered(mark, heightMm)));
    heightMm += scene.heightMm;
  }
  return { widthMm: Math.max(0, ...scenes.map((scene) => scene.widthMm)), heightMm, title, marks };
}

/** The same mark further down the sheet. */
function lowered(mark: Mark, byMm: number): Mark {
  const down = ([x, y]: readonly [number, number]) => [x, y + byMm] as const;
  switch (mark.kind) {
    case 'group':
      return { ...mark, marks: mark.marks.map((inner) => lowered(inner, byMm)) };
    case 'line':
      return { ...mark, points: mark.points.map(down) };
    case 'area':
      return { ...mark, rings: mark.rings.map((ring) => ring.map(down)) };
    case 'symbol':
    case 'text':
      return { ...mark, at: down(mark.at) };
  }
}
