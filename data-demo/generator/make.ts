import { mkdir, writeFile } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { bathymetryTiff } from './bathymetry.js';
import { plantClusters } from './clusters.js';
import { findTruth } from './find-truth.js';
import type { SieveLosses } from './ground.js';
import { plantBars, plantIron } from './iron.js';
import { plantJars } from './jars.js';
import { allLevels, levelRows, tideRows } from './levels.js';
import { diveRows, documentRows, potVesselRows, sampleRows } from './lists.js';
import { recordPositions } from './positions.js';
import { findColumns, findRows, identificationRows, refitRows, registerFinds } from './register.js';
import { siteRecord } from './site-record.js';
import { areaFeatures, contextFeatures, hullFeatures, zoneFeatures } from './structure.js';
import { controlPointRows, demoSurvey, measurementRows } from './survey.js';
import { type Cell, csvText, geojsonText, jsonText } from './tables.js';
import { siteTruth } from './truth.js';

/** Every file of the demo site, by its name; the same text and bytes whenever and wherever it is made. */
export function demoFiles(): Map<string, string | Uint8Array> {
  const losses: SieveLosses = new Map();
  const { vessels, sherds } = plantJars();
  const finds = [...sherds, ...plantClusters(losses), ...plantIron(), ...plantBars()];
  const register = registerFinds(finds, recordPositions(finds));
  const levels = allLevels();
  const survey = demoSurvey();
  const csv = (columns: string, rows: Record<string, Cell>[]) => csvText(columns.split(','), rows);
  return new Map<string, string | Uint8Array>([
    ['site.json', jsonText(siteRecord())],
    ['control-points.csv', csv('name,class,x,y,z,sigma,season,note', controlPointRows(survey))],
    [
      'measurements.csv',
      csv('from,to,kind,value,unit,sigma,instrument,reading_series,date,time,note', measurementRows(survey)),
    ],
    ['tide.csv', csv('reading_series,start_time,start_depth,end_time,end_depth,reference_depth', tideRows(levels))],
    [
      'levels.csv',
      csv(
        'grid,node,season,surface,value,kind,sigma,unit,method,reading_series,date,time,state,note',
        levelRows(levels),
      ),
    ],
    ['finds.csv', csvText(findColumns, findRows(register))],
    ['identifications.csv', csv('find,artefact_class,date,basis,by_role,supersedes', identificationRows(register))],
    ['refits.csv', csv('find_a,find_b,kind,certainty', refitRows(register, sherds))],
    ['pot-vessels.csv', csv('pot_vessel,form,rim_percent,minimum,maximum', potVesselRows(vessels))],
    ['dives.csv', csv('dive,season,date,role,minutes', diveRows())],
    [
      'samples.csv',
      csv('sample,season,dive,kind,grid,square,context,z_elevation,volume_taken_l,volume_present_l', sampleRows()),
    ],
    ['documents.csv', csv('document,kind,find,dive,title,file,date', documentRows(register))],
    ['excavated-areas.geojson', geojsonText('excavated-areas', areaFeatures(register))],
    ['hull-features.geojson', geojsonText('hull-features', hullFeatures())],
    ['contexts.geojson', geojsonText('contexts', contextFeatures())],
    ['ship-zones.geojson', geojsonText('ship-zones', zoneFeatures())],
    ['bathymetry.tif', bathymetryTiff()],
    ['truth.json', jsonText({ ...siteTruth(survey), finds: findTruth({ register, vessels, losses }) })],
  ]);
}

/** Writes the demo site into a folder. */
export async function makeDemo(folder: string): Promise<void> {
  await mkdir(folder, { recursive: true });
  for (const [name, content] of demoFiles()) await writeFile(join(folder, name), content);
}

const here = fileURLToPath(import.meta.url);
if (process.argv[1] !== undefined && resolve(process.argv[1]) === here) {
  await makeDemo(resolve(process.argv[2] ?? dirname(dirname(here))));
}
