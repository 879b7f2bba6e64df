import { seasonIds } from './areas.js';
import { bathymetry } from './bathymetry.js';
import { axeHead, classList, classNames, groups } from './class-list.js';
import { rounded } from './deviates.js';
import { type GridId, gridOrigin, gridSize, relaid, relaidAzimuthDeg, skippedLetters, toProjected } from './grids.js';
import { zeroBelowSeaM } from './levels.js';
import { seasons } from './seasons.js';
import { keelson } from './ship.js';

function grid(id: GridId) {
  const [easting, northing] = id === 'g1' ? toProjected([0, 0]) : toProjected([relaid.shiftX, relaid.shiftY]);
  return {
    id,
    // the first grid holds for the whole site, also for what is drawn of the third season
    valid_seasons: seasonIds.filter((season) => seasons[season].grid === id),
    crs: 'EPSG:32626',
    origin_easting: rounded(easting, 9),
    origin_northing: rounded(northing, 9),
    azimuth_deg: rounded(id === 'g1' ? gridOrigin.azimuthDeg : relaidAzimuthDeg, 6),
    scale: gridOrigin.scale,
    node_spacing: 1,
    columns: gridSize.columns,
    rows: gridSize.rows,
    labels: { columns: 'letters', rows: 'digits', skip: skippedLetters, first: 1, separator: '' },
    corner: 'south-west',
    boundary_rule: 'lower',
  };
}

function artefactClasses() {
  const parents = groups.map(({ id, title }) => ({ id, title, functional_group: id }));
  const children = classNames
    .map((name) => classList[name])
    .map((kind) => ({
      id: kind.id,
      title: kind.title,
      parent: kind.group,
      functional_group: kind.group,
      material: kind.material,
      material_density: kind.materialDensity,
      ...('sensitivity' in kind && kind.sensitivity ? { sensitivity: kind.sensitivity } : {}),
    }));
  const later = {
    id: axeHead.id,
    title: axeHead.title,
    parent: axeHead.group,
    functional_group: axeHead.group,
    material: axeHead.material,
    material_density: axeHead.materialDensity,
  };
  return [...parents, ...children, later];
}

/** site.json. */
export function siteRecord() {
  return {
    id: 'tarn-ledge',
    name: 'Tarn Ledge brig (invented)',
    period: '1790s',
    authority: 'an invented authority',
    permit: 'invented permit TL-1',
    licence: 'CC0-1.0',
    rights: 'Invented for demonstration; no rights reserved',
    cautions: [
      'Everything here is invented: ship, place, finds and people. The position lies on purpose where the sea is kilometres deep.',
      'Material densities are from memory.',
      'Lead shot is marked as ordnance so that hiding can be shown.',
      'Reading series 7 was read at low-water stand and its tide was not taken off; all other levels are reduced to the site datum.',
    ],
    vertical_datum: {
      name: 'Tarn Ledge site zero on CP1',
      kind: 'control_point_plane',
      hydrographic_datum: 'mean sea level',
      offset_m: -zeroBelowSeaM,
      offset_sigma_m: 0.15,
    },
    grids: [grid('g1'), grid('g2')],
    declination: { degrees: -9.4, date: '2021-06-15' },
    seasons: seasonIds.map((id) => {
      const { title, start, end } = seasons[id];
      return { id, title, start, end };
    }),
    artefact_classes: artefactClasses(),
    ship_axis: {
      after_end: keelson.after,
      bow_end: keelson.bow,
      certainty: 'certain',
      heel_deg: 14,
      heel_to: 'starboard',
      note: 'the keelson; the bow end is known by the hearth and the rake of the frames',
    },
    bathymetry: {
      file: 'bathymetry.tif',
      vertical_datum: 'mean sea level',
      sign: 'elevation_up_positive',
      uncertainty_m: bathymetry.uncertaintyM,
      licence: 'CC0-1.0 (invented)',
      date: '2021-05-20',
    },
    csv: { delimiter: ',', decimal: '.', encoding: 'utf-8' },
  };
}
