import { lineLength, profileArea, projectOnLine, type Station, stationsAlong } from '../../math/profile.js';
import { Problem } from '../../problems.js';
import { defineAnalysis } from '../contract.js';
import { cautionsOf, figureOf, findsOf, methodsOf, profileLayer, type SectionFind, tableOf } from './answer.js';
import { type BathymetryProfile, bathymetryProfile } from './bathymetry.js';
import { type SectionLine, sectionLine } from './line-text.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { type SurfaceProfile, surfaceProfiles, thicknessAlong } from './surfaces.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'section',
  title: 'Section',
  version: '1.1.0',
  summary: 'What does a cut through the site show: every surface along a line, and the finds beside it?',
  cautions: [
    'Finds are carried square onto the line from up to band_m away: the ground where they lay may be higher or lower than the ground cut.',
    'Heights are drawn exaggerated; slopes look steeper than they are.',
    'Between nodes the surfaces are bilinear: nothing smaller than a square is seen.',
    'Bathymetry is another survey in another datum: it is drawn with its own error, and no thickness is taken from it.',
  ],
  formula:
    'z(s) = Σ of the four node elevations × their bilinear weights at the place s along the line; thickness = top − bottom; area cut = Σ of mean thickness × step; a find at distance d ≤ band_m stands at the foot of its perpendicular',
  sources: [
    'Press, Teukolsky, Vetterling & Flannery 2007, Numerical Recipes, 3.6 (bilinear interpolation)',
    'Bowens 2009, Underwater Archaeology: the NAS Guide (sections and their drawing)',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  spreadsItself: true,
  withoutEffect: ['count_unit', 'draws', 'simulations', 'seed'],
  needsWindow: false,
  defaultSimulations: 0,
  worked,
  laws: { movedAndTurned: true },
  run(sample, own, control) {
    const { levels } = sample;
    if (levels === null || levels.x.length === 0) {
      throw new Problem(
        'cannot-answer',
        'no levels in this selection: a section needs level readings (levels.csv of a site, or --levels L.csv with x,y,surface,elevation)',
      );
    }
    const line = sectionLine(own.line, sample);
    const stations = stationsAlong(line.places, own.step_m);
    control.progress(0.2, 'reading the surfaces');
    const levelled = surfaceProfiles(levels, stations, {
      seasons: sample.seasons,
      nodeValue: own.node_value,
      missingCorner: own.missing_corner,
      spacingM: sample.grid?.node_spacing ?? null,
    });
    if (levelled.every((profile) => profile.knownM === 0)) {
      throw new Problem(
        'cannot-answer',
        `no surface is known along ${line.name}: the line runs where squares lack nodes, or beside the levelled ground`,
        { line: own.line },
      );
    }
    const thickness = thicknessAlong(levelled, stations.length);
    const bathymetry = bathymetryProfile(sample.bathymetry ?? null, stations, levelled);
    const profiles = bathymetry.profile ? [...levelled, bathymetry.profile] : levelled;
    const finds = findsOf(sample, projectOnLine(line.places, sample.xy, own.band_m));
    control.progress(0.8, 'drawing');
    const summary = summaryOf({ own, line, stations, profiles, thickness, bathymetry, finds });
    const drawn = { sample, own, line, stations, profiles, thickness, finds, summary };
    return {
      summary,
      table: tableOf(drawn),
      features: profileLayer(drawn),
      figure: figureOf(drawn),
      methods: methodsOf(drawn),
      cautions: cautionsOf(drawn),
    };
  },
});

const known = (v: number): number | null => (Number.isNaN(v) ? null : v);

function summaryOf(given: {
  own: Parameters;
  line: SectionLine;
  stations: readonly Station[];
  profiles: readonly SurfaceProfile[];
  thickness: Float64Array;
  bathymetry: BathymetryProfile;
  finds: readonly SectionFind[];
}): Summary {
  const { own, line, stations, profiles, thickness, bathymetry, finds } = given;
  const cut = profileArea(stations, thickness);
  const thick = thickness.filter((t) => !Number.isNaN(t));
  return {
    n: finds.length,
    finds_without_z: finds.filter((f) => f.z === null && f.zMin === null).length,
    line: line.name,
    length_m: lineLength(line.places),
    step_m: own.step_m,
    band_m: own.band_m,
    exaggeration: own.exaggeration,
    surfaces: profiles.map(({ surface, elevation, knownM }) => {
      const values = elevation.filter((z) => !Number.isNaN(z));
      return {
        name: surface,
        known_m: knownM,
        lowest_m: values.length > 0 ? values.reduce((a, b) => Math.min(a, b)) : null,
        highest_m: values.length > 0 ? values.reduce((a, b) => Math.max(a, b)) : null,
      };
    }),
    thickness:
      cut.knownM > 0
        ? {
            known_m: cut.knownM,
            area_m2: cut.areaM2,
            mean_m: cut.areaM2 / cut.knownM,
            least_m: thick.reduce((a, b) => Math.min(a, b)),
            largest_m: thick.reduce((a, b) => Math.max(a, b)),
          }
        : null,
    bathymetry: bathymetry.summary,
    profile: stations.map(({ alongM, x, y }, i) => ({
      along_m: alongM,
      local_x_m: x,
      local_y_m: y,
      elevation_m: Object.fromEntries(profiles.map((p) => [p.surface, known(p.elevation[i])])),
      sigma_m: Object.fromEntries(profiles.map((p) => [p.surface, known(p.sigma[i])])),
      thickness_m: known(thickness[i]),
    })),
  };
}
