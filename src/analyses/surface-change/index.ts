import { median } from '../../math/quantiles.js';
import { defineAnalysis } from '../contract.js';
import { cautionsOf, figureOf, methodsOf, nodesLayer, tableOf } from './answer.js';
import { type SurfaceChange, surfaceChange } from './change.js';
import { type ChosenMoments, chosenMoments } from './choice.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'surface-change',
  title: 'Change of a surface',
  version: '1.0.0',
  summary: 'Did a surface rise or fall between two seasons by more than its errors explain, where and by how many m³?',
  cautions: [
    'A shift of datum or tide between the seasons looks like change everywhere: read the common-point check first.',
    'Each node is tested for itself: of a hundred unchanged nodes about five stand out at 95 %.',
    'Only nodes levelled in both seasons are compared; where seasons dug different ground they may be few and at the edges.',
  ],
  formula:
    'd = z_later − z_earlier at common nodes; level of detection = z_(1−α/2) √(σ_earlier² + σ_later² + σ_shared²); area and volume of change = Σ over nodes beyond it of the ground each stands for (× d)',
  sources: [
    'Lane, Westaway & Hicks 2003, Earth Surface Processes and Landforms 28, 249–271, doi:10.1002/esp.483',
    'Wheaton, Brasington, Darby & Sear 2010, Earth Surface Processes and Landforms 35, 136–156, doi:10.1002/esp.1886',
    'Brasington, Langham & Rumsby 2003, Geomorphology 53, 299–316, doi:10.1016/S0169-555X(02)00320-3',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  spreadsItself: true,
  withoutEffect: [
    'artefact_class',
    'identified_as_of',
    'count_unit',
    'spot',
    'square_only',
    'draws',
    'simulations',
    'seed',
  ],
  needsWindow: false,
  defaultSimulations: 0,
  worked,
  laws: { movedAndTurned: true },
  run(sample, own, control) {
    const moments = chosenMoments(sample, own);
    control.progress(0.4, 'comparing nodes');
    const change = surfaceChange({
      from: moments.fromNodes,
      to: moments.toNodes,
      spacingM: sample.grid?.node_spacing ?? null,
      confidence: own.confidence,
      sigmaSharedM: own.sigma_shared_m,
      dug: sample.dug.map((d) => d.region),
      stableShift: own.stable_shift,
    });
    const summary = summaryOf(moments, own, change);
    const drawn = { sample, own, moments, change, summary };
    control.progress(0.8, 'drawing');
    return {
      summary,
      table: tableOf(drawn),
      features: nodesLayer(drawn),
      figure: figureOf(drawn),
      methods: methodsOf(drawn),
      cautions: cautionsOf(drawn),
    };
  },
});

function summaryOf(moments: ChosenMoments, own: Parameters, change: SurfaceChange): Summary {
  const { nodes, stable, raised, lowered, net } = change;
  const differences = nodes.map((node) => node.differenceM);
  // a shared error moves all nodes together: what chance alone makes is asked of the random part
  const chance = nodes.length * (1 - own.confidence);
  return {
    n: nodes.length,
    surface: moments.surface,
    from_season: moments.from.season,
    to_season: moments.to.season,
    read_between: nodes.filter((node) => node.isBetween).length,
    stable: stable && {
      nodes: stable.nodes,
      median_m: stable.medianM,
      sigma_m: stable.sigmaM,
      is_shifted: stable.isShifted,
    },
    removed_shift_m: change.removedShiftM,
    mean_difference_m: differences.reduce((sum, d) => sum + d, 0) / nodes.length,
    median_difference_m: median(differences) ?? 0,
    level_of_detection_m: median(nodes.map((node) => node.detectionM)) ?? 0,
    confidence: own.confidence,
    sigma_shared_m: change.sigmaSharedM,
    significant_nodes: nodes.filter((node) => node.isSignificant).length,
    expected_by_chance: chance,
    compared_m2: change.comparedM2,
    raised: sideOf(raised),
    lowered: sideOf(lowered),
    net_significant_m3: raised.volumeM3 + lowered.volumeM3,
    net_m3: net.volumeM3,
    sigma_random_m3: net.sigmaRandomM3,
    sigma_shared_m3: net.sigmaSharedM3,
    sigma_m3: Math.hypot(net.sigmaRandomM3, net.sigmaSharedM3),
  };
}

function sideOf(side: SurfaceChange['raised']): Summary['raised'] {
  return { nodes: side.nodes, area_m2: side.areaM2, volume_m3: side.volumeM3, sigma_m3: side.sigmaM3 };
}
