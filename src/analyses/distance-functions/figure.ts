import { type Band, type Curve, plotCurves } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { exponential } from '../../math/elementary.js';
import type { Summary } from './schemas.js';

const numbers = (values: readonly (number | null)[]) => values.map((v) => v ?? Number.NaN);

const names: Record<Summary['function'], string> = {
  K: 'K(r) (m²)',
  L: 'L(r) − r (m)',
  pcf: 'pair correlation g(r)',
  G: 'G(r): share of finds with a neighbour within r',
  F: 'F(r): share of ground with a find within r',
  J: 'J(r)',
};

/** The tested function with its global and pointwise bands; L as L(r) − r, so that a scatter without pattern lies level. */
export function functionFigure(
  summary: Summary,
  words: { readonly subtitle: string; readonly notes: readonly string[]; readonly types: string },
): Scene {
  const { r, envelope, global } = summary;
  const isL = summary.function === 'L';
  const level = (values: readonly (number | null)[]) => numbers(values).map((v, k) => (isL ? v - r[k] : v));
  const curves: Curve[] = [
    { name: 'scatter without pattern', x: r, y: theory(summary), style: 'reference' },
    { name: `observed, ${words.types}`, x: r, y: level(observedCurve(summary)), style: 'observed' },
  ];
  const bands: Band[] = [];
  const share = (p: number) => `${Math.round(1000 * (1 - p)) / 10} %`;
  if (global?.extreme_rank_length.level != null) {
    const { low, high, level: outside } = global.extreme_rank_length;
    bands.push({
      name: `GLOBAL ${share(outside)} band (extreme rank length), ${summary.simulations} simulations, ${summary.null_model.replace('_', ' ')}`,
      x: r,
      low: level(low),
      high: level(high),
    });
  }
  if (envelope) {
    curves.push({ name: 'mean of simulations', x: r, y: level(envelope.mean), style: 'class1' });
    bands.push({
      name: `POINTWISE ${share(envelope.pointwise_level)} band: for one r chosen beforehand, no test of the curve`,
      x: r,
      low: level(envelope.low),
      high: level(envelope.high),
    });
  }
  return plotCurves({
    title: isL
      ? 'L function, L(r) − r'
      : `${summary.function === 'pcf' ? 'Pair correlation' : summary.function} function`,
    subtitle: words.subtitle,
    xTitle: 'distance r (m)',
    yTitle: names[summary.function],
    curves,
    bands,
    notes: words.notes,
  });
}

/** The tested function of the observed pattern: as tested when it was, else as printed. */
function observedCurve(summary: Summary): readonly (number | null)[] {
  if (summary.envelope) return summary.envelope.observed;
  const edge = summary.edge ?? 'translation';
  switch (summary.function) {
    case 'K':
      return summary.K[edge];
    case 'L':
      return summary.L[edge];
    case 'pcf':
      return edge === 'border' ? [] : summary.pcf[edge];
    case 'G':
      return summary.G.kaplan_meier;
    case 'F':
      return summary.F.kaplan_meier;
    case 'J':
      return summary.J;
  }
}

function theory(summary: Summary): number[] {
  const { r } = summary;
  const intensity = (summary.n_to ?? summary.n) / summary.window_area_m2;
  switch (summary.function) {
    case 'K':
      return r.map((x) => Math.PI * x * x);
    case 'L':
      return r.map(() => 0);
    case 'pcf':
    case 'J':
      return r.map(() => 1);
    case 'G':
    case 'F':
      return r.map((x) => 1 - exponential(-intensity * Math.PI * x * x));
  }
}
