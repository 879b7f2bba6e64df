import type { Sample } from '../../domain/sample.js';
import type { Compared } from './answer.js';
import type { Summary } from './schemas.js';
import { leadOf, shown } from './words.js';

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, of: { readonly sample: Sample; readonly compared: Compared }): string[] {
  const { ground, counted, depths } = of.compared;
  const { seasons } = summary;
  const pair = leadOf(summary);
  const total = (name: 'elsewhere' | 'uncounted') => seasons.reduce((sum, row) => sum + row[name], 0);
  const cautions: string[] = [];
  if (ground.isOneWindow && seasons.length > 0) {
    cautions.push(
      'One window was used for all seasons: the ground does not say which season dug it, so every square counts as dug in all of them. If the seasons dug different squares, rates and shared squares mislead.',
    );
  }
  if (pair && pair.place === 'differs') {
    cautions.push(
      `${pair.first} and ${pair.second} dug different squares: a difference of rates is as much one of place as of anything else, and dealing squares out takes no notice that neighbours are alike, so p is too small where finds heap over several squares.`,
    );
  }
  if (pair && pair.shared_squares > 0 && !ground.isOneWindow) {
    cautions.push(
      `${pair.shared_squares} squares were dug in both seasons: what ${pair.first} took there ${pair.second} could not find again, so rates per m² speak of what was left; compare per m³, and look at the levels.`,
    );
  }
  if (pair?.strata_reason?.startsWith('no ground')) cautions.push(`${sentenceCase(pair.strata_reason)}.`);
  const bySize = pair?.strata.filter((row) => row.by === 'size_class' && row.per_m2.value !== null) ?? [];
  if (pair?.strata_reason?.startsWith('no ground') && bySize.length > 1) {
    cautions.push(
      `A coarse mesh loses small things first. By size, ${pair.second} against ${pair.first} per m²: ${bySize
        .map(
          ({ stratum, per_m2: { value, low, high } }) =>
            `${stratum} ${shown(value)} times (${shown(low)} to ${high === null ? 'no end' : shown(high)})`,
        )
        .join(', ')}.`,
    );
  }
  const partDug = seasons.filter((row) =>
    of.sample.dug.some((area) => area.season === row.season && area.progress === 'part_dug'),
  );
  if (partDug.length > 0 && seasons.some((row) => row.per_m3 !== null)) {
    cautions.push(
      `Some ground of ${partDug.map((row) => row.season).join(', ')} was dug in part only: rates per m³ take its deposit from top to bottom, times the share dug of the ground, as dug.`,
    );
  }
  if (pair?.syrjala_reason) cautions.push(pair.syrjala_reason);
  if (summary.reading === 'cannot_tell') {
    cautions.push('“Cannot tell” is not “no difference”: the interval shows what is still possible.');
  }
  const dispersion = summary.all_seasons.dispersion;
  if (dispersion !== null && dispersion > 1.5) {
    cautions.push(
      `Finds lie unevenly over squares (χ² / df ${shown(dispersion)} about the rate of their season): intervals are widened by about ${shown(Math.sqrt(dispersion), 2)} times; those of finds falling one by one stand beside them.`,
    );
  }
  if (total('elsewhere') > 0) {
    cautions.push(
      `${total('elsewhere')} finds lie in no square dug in their season, or have no square at all, and are in no rate; look at the register check.`,
    );
  }
  if (total('uncounted') > 0) cautions.push(`${total('uncounted')} finds lack what is counted and are in no rate.`);
  if (summary.without_season > 0) {
    cautions.push(
      `${summary.without_season} finds belong to no season, or to one without dug ground, and are left out.`,
    );
  }
  const [dug, levelled] = [
    seasons.reduce((s, r) => s + r.squares, 0),
    seasons.reduce((s, r) => s + r.squares_with_volume, 0),
  ];
  if (levelled > 0) {
    cautions.push(
      `Rates per m³ take the thickness for exact${levelled < dug ? ` and speak of ${levelled} of ${dug} squares and seasons, those levelled top and bottom` : ''}; an error shared by all levels of a season moves them all.`,
    );
  }
  if (of.sample.register) {
    cautions.push(
      'Counts take the whole register, finds known by a square only included; centres, ellipses and depths take finds with a position.',
    );
  }
  if (depths?.measure === 'elevation') {
    cautions.push('Elevations are compared as they are: on sloping ground seasons differ in them by where they dug.');
  }
  if (counted.unit === 'piece' || counted.unit === 'weight') {
    cautions.push(
      counted.unit === 'weight'
        ? 'Grams do not fall one by one: rates have no interval, and only dealings give a p.'
        : 'Pieces of one find lie together: the interval widened by the dispersion is the one to quote.',
    );
  }
  if (summary.tests_made > 1) {
    const chance = 0.05 * summary.tests_made;
    cautions.push(
      `${summary.tests_made} tests were made; at the 5 % level ${chance < 1 ? 'less than one' : `about ${Math.round(chance)}`} would look patterned by chance alone. Name one pair and one class beforehand where you can.`,
    );
  }
  return cautions;
}

const sentenceCase = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);
