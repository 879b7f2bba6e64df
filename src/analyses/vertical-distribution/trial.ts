import type { Sample } from '../../domain/sample.js';
import { groupNumbers, nameDealer } from '../../math/name-dealing.js';
import type { RandomStream } from '../../math/random.js';
import type { Trial } from '../contract.js';
import type { Summary } from './schemas.js';
import { densities } from './trends.js';

/** Classes set down deeper by their material density, names dealt within squares. */
export const trial: Trial = {
  effect: 'metres by which the densest class lies deeper than the lightest',
  unit: 'm',
  strengths: [0.01, 0.02, 0.03, 0.05, 0.075, 0.1, 0.15, 0.2, 0.3],
  plant: setDeeper,
  probability: (summary) => (summary as Summary).p_two_sided,
};

function setDeeper(sample: Sample, metres: number, random: RandomStream): Sample {
  const classCode = dealtWithinSquares(sample, random);
  const density = densities(sample);
  const order = [...new Set(sample.classCode)].sort((a, b) => (density[a] || 0) - (density[b] || 0) || a - b);
  const step = metres / Math.max(1, order.length - 1);
  const detail = { ...sample.detail, materialDensity: Float64Array.from(classCode, (code) => density[code]) };
  return {
    ...sample,
    areas: [],
    classCode,
    detail,
    z: sample.z.map((z, i) => z - step * order.indexOf(classCode[i])),
  };
}

/** Class names dealt anew inside each square, groups whole; densities go with their class. */
function dealtWithinSquares(sample: Sample, random: RandomStream): Uint32Array {
  const { square, potVessel, concretion } = sample.detail;
  const ground = square.map((own, i) => own ?? `${Math.floor(sample.xy[2 * i])} ${Math.floor(sample.xy[2 * i + 1])}`);
  const codes = [...new Set(sample.classCode)];
  const dealer = nameDealer({
    label: Uint32Array.from(sample.classCode, (code) => codes.indexOf(code)),
    group: groupNumbers(potVessel.map((pot, i) => pot ?? concretion[i])),
    stratum: groupNumbers(ground),
  });
  const names = new Uint32Array(sample.classCode.length);
  dealer.deal(names, random);
  return Uint32Array.from(names, (name) => codes[name]);
}
