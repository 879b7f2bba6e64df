/** Orders of survey of the hydrographic standard, strictest first. */
export const surveyOrders = ['exclusive', 'special', '1a', '1b', '2'] as const;
export type SurveyOrder = (typeof surveyOrders)[number];

/** a in metres and b as a share of the depth */
const limits: Readonly<Record<SurveyOrder, readonly [number, number]>> = {
  exclusive: [0.15, 0.0075],
  special: [0.25, 0.0075],
  '1a': [0.5, 0.013],
  '1b': [0.5, 0.013],
  '2': [1, 0.023],
};

/** half width of a 95 % interval in standard deviations, normal law */
export const sigmasOf95 = 1.959963984540054;

/**
 * The largest total vertical uncertainty an order allows at a depth, 95 %: √(a² + (b·d)²). A survey said to keep an
 * order may be better; it says nothing of how the error is shared between neighbouring soundings.
 *
 * @param depthM  depth below the water surface the soundings are reduced to, metres; its sign does not matter
 * @see IHO 2022, Standards for Hydrographic Surveys S-44, edition 6.1.0, table 1
 */
export function totalVerticalUncertaintyM(order: SurveyOrder, depthM: number): number {
  const [a, b] = limits[order];
  return Math.hypot(a, b * depthM);
}
