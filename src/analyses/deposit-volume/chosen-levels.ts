import type { LevelColumns } from '../../math/level-nodes.js';
import { Problem } from '../../problems.js';

/** random standard deviation of a reading that states none, metres */
export const sigmaWhenUnstatedM = 0.03;

/** Which two surfaces bound the volume, and how well a level is known. */
export interface LevelChoice {
  readonly top: string;
  readonly bottom: string;
  /** for every reading; null = as stated, 0.03 m where not stated */
  readonly sigmaRandomM: number | null;
}

/** What of the readings is used, and how often an error had to be supposed. */
export interface ChosenLevels {
  /** the two surfaces under the names deposit_top and deposit_bottom, every reading with its error */
  readonly levels: LevelColumns;
  readonly unstatedSigmas: number;
}

/** names that plain level files give the two surfaces */
const shortNames: Readonly<Record<string, string>> = { deposit_top: 'top', deposit_bottom: 'bottom' };

/**
 * The readings of the two surfaces asked for.
 * @throws Problem bad-parameter when both are one surface; cannot-answer when there are no readings of one of them
 */
export function chosenLevels(levels: LevelColumns | null, choice: LevelChoice): ChosenLevels {
  if (choice.top === choice.bottom) {
    throw new Problem('bad-parameter', `top and bottom are both ${choice.top}: a volume lies between two surfaces`);
  }
  if (levels === null || levels.x.length === 0) {
    throw new Problem(
      'cannot-answer',
      'no levels in this selection: a volume needs levels of two surfaces (levels.csv of a site, or --levels L.csv with x,y,surface,elevation)',
    );
  }
  const known = new Set(levels.surface);
  const named = (surface: string) => {
    if (known.has(surface)) return surface;
    const short = shortNames[surface];
    if (short !== undefined && known.has(short)) return short;
    throw new Problem('cannot-answer', `no levels of ${surface}; the levels are of ${[...known].sort().join(', ')}`, {
      surface,
    });
  };
  const [top, bottom] = [named(choice.top), named(choice.bottom)];
  const rows = Array.from(levels.x.keys()).filter((i) => levels.surface[i] === top || levels.surface[i] === bottom);
  const numbers = (values: Float64Array) => Float64Array.from(rows, (i) => values[i]);
  let unstatedSigmas = 0;
  const sigma = Float64Array.from(rows, (i) => {
    if (choice.sigmaRandomM !== null) return choice.sigmaRandomM;
    if (levels.sigma[i] >= 0) return levels.sigma[i];
    unstatedSigmas++;
    return sigmaWhenUnstatedM;
  });
  return {
    unstatedSigmas,
    levels: {
      x: numbers(levels.x),
      y: numbers(levels.y),
      elevation: numbers(levels.elevation),
      sigma,
      surface: rows.map((i) => (levels.surface[i] === top ? 'deposit_top' : 'deposit_bottom')),
      season: rows.map((i) => levels.season[i]),
      node: rows.map((i) => levels.node[i]),
      state: rows.map((i) => levels.state[i]),
    },
  };
}
