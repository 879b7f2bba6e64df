import { numbers, wordReader } from './columns.js';
import type { CodeColumn } from './feature-table.js';
import type { RegisterEntries } from './sample.js';
import type { Survey } from './survey.js';

/**
 * The finds of a selection as the register counts them.
 * @param rows  rows of `finds` that were selected
 */
export function registerEntries(
  survey: Survey,
  rows: readonly number[],
  of: { readonly classAt: CodeColumn; classNumber(word: string): number; seasonNumber(word: string): number },
): RegisterEntries {
  const { finds, placed } = survey;
  const word = (name: string) => {
    const column = wordReader(finds, name);
    return rows.map(column);
  };
  const number = (name: string) => {
    const column = numbers(finds, name);
    return Float64Array.from(rows, (row) => column[row]);
  };
  const classNumbers = Uint32Array.from(of.classAt.words, of.classNumber);
  const season = wordReader(finds, 'season');
  const findNumber = wordReader(finds, 'find');
  const xy = new Float64Array(2 * rows.length);
  rows.forEach((row, i) => {
    xy[2 * i] = placed.xy[2 * row];
    xy[2 * i + 1] = placed.xy[2 * row + 1];
  });
  return {
    find: word('find').map((find) => find ?? ''),
    classCode: Uint32Array.from(rows, (row) => classNumbers[of.classAt.codes[row]]),
    classRegistered: word('artefact_class'),
    seasonCode: Uint32Array.from(rows, (row) => of.seasonNumber(season(row) ?? '')),
    square: rows.map((row) => placed.square[row]),
    kind: rows.map((row) => placed.kind[row]),
    xy,
    pieces: number('count'),
    weightG: number('weight_g'),
    potVessel: word('pot_vessel'),
    concretion: word('concretion'),
    sizeClass: word('size_class'),
    recoveryMethod: word('recovery_method'),
    meshMm: number('mesh_mm'),
    formerNumbers: word('former_numbers'),
    accessionNumber: word('accession_number'),
    elevation: { z: number('z_elevation'), zMin: number('z_min'), zMax: number('z_max'), sigmaZ: number('sigma_z') },
    area: rows.map((row) => placed.area[row]),
    allNumbers: Array.from({ length: finds.length }, (_, row) => findNumber(row) ?? ''),
    documents: documentsOf(survey),
    potVessels: potVesselsOf(survey),
  };
}

function documentsOf(survey: Survey): RegisterEntries['documents'] {
  const table = survey.table('documents');
  if (!table) return [];
  const [find, document, kind] = ['find', 'document', 'kind'].map((name) => wordReader(table, name));
  return Array.from({ length: table.length }, (_, i) => ({
    find: find(i) ?? '',
    document: document(i) ?? '',
    kind: kind(i),
  })).filter((link) => link.find !== '');
}

function potVesselsOf(survey: Survey): RegisterEntries['potVessels'] {
  const table = survey.table('pot-vessels');
  if (!table) return [];
  const name = wordReader(table, 'pot_vessel');
  const form = wordReader(table, 'form');
  const [rim, minimum, maximum] = ['rim_percent', 'minimum', 'maximum'].map((column) => numbers(table, column));
  return Array.from({ length: table.length }, (_, i) => ({
    potVessel: name(i) ?? '',
    form: form(i),
    rimPercent: rim[i],
    minimum: minimum[i],
    maximum: maximum[i],
  }));
}
