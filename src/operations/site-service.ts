import { createHash } from 'node:crypto';
import type { Analysis } from '../analyses/contract.js';
import { describeProcess } from '../analyses/describe.js';
import { describedEntry } from '../domain/collections.js';
import { checkedSeasons } from '../domain/make-sample.js';
import type { Site } from '../domain/site.js';
import type { Survey } from '../domain/survey.js';
import { checkProperties } from '../filter/properties.js';
import type { Queue } from '../jobs/queue.js';
import { Problem } from '../problems.js';
import type { GeoPackageWriter } from '../storage/geopackage.js';
import type { Store, Version } from '../storage/store.js';
import { joinLayers } from '../tiles/encode.js';
import { tileCache } from '../tiles/tile-cache.js';
import { answerOutputs, surfaceGeoTiff } from './answer-outputs.js';
import { type AnswerParts, answerFromParts } from './answer-parts.js';
import { collectionCsv } from './collection-csv.js';
import { siteCoverage } from './coverage.js';
import { echoDescription } from './echo.js';
import { Downloads, selectionSentence } from './export/downloads.js';
import { receivedIn, surfaceOrNull } from './export/exported-site.js';
import { KeptResults } from './kept-results.js';
import {
  PublishedCollection,
  type PublishedEntry,
  type RowConditions,
  type RowFilter,
} from './published-collection.js';
import type { AnalysisDesk } from './run-analysis.js';
import type {
  CollectionView,
  Execution,
  Outputs,
  Selection,
  Service,
  Sheet,
  SurveyState,
  SurveyView,
} from './service.js';
import { siteSheet } from './site-sheet.js';
import { siteStyle, siteStyles } from './site-style.js';
import type { SurveyShelf } from './survey-shelf.js';

/** A site at one data version with everything it publishes, results included. */
class PublishedSite implements SurveyView {
  readonly site: Site;
  readonly version: Version;
  readonly survey: Survey;
  readonly identifiedAsOf: string | null;
  readonly storageCrs: SurveyView['storageCrs'];
  readonly collections: ReadonlyMap<string, PublishedCollection>;

  constructor(given: {
    survey: Survey;
    version: Version;
    own: readonly PublishedCollection[];
    results: readonly PublishedCollection[];
  }) {
    this.survey = given.survey;
    this.site = given.survey.site;
    this.identifiedAsOf = given.survey.identifiedAsOf;
    this.version = given.version;
    const { epsg } = given.survey.frame.projection;
    this.storageCrs =
      epsg === null ? null : { uri: `http://www.opengis.net/def/crs/EPSG/0/${epsg}`, axes: 'east-north' };
    this.collections = new Map([...given.own, ...given.results].map((collection) => [collection.id, collection]));
  }

  #sheet: Sheet | null = null;
  sheet(): Sheet {
    this.#sheet ??= siteSheet(this.survey, this.collections);
    return this.#sheet;
  }
}

/** The rooms a service is put together from. */
export interface ServiceRooms {
  readonly store: Store;
  readonly shelf: SurveyShelf;
  readonly queue: Queue;
  readonly desk: AnalysisDesk;
  readonly catalogue: readonly Analysis[];
  readonly writeGeoPackage: GeoPackageWriter;
}

/** Fills the port of the HTTP rooms from surveys, published collections and the desk. */
export function siteService(rooms: ServiceRooms): Service {
  const { store, shelf, desk, catalogue } = rooms;
  const kept = new KeptResults(store);
  const tiles = tileCache();
  const downloads = new Downloads(rooms);
  /** collections of a survey, by the survey itself: they go when it goes */
  const ownCollections = new WeakMap<Survey, readonly PublishedCollection[]>();
  const views = new Map<string, { revision: number; view: Promise<PublishedSite> }>();

  const collectionsOf = (survey: Survey): readonly PublishedCollection[] => {
    let own = ownCollections.get(survey);
    if (!own) {
      own = survey.collectionEntries().map((entry) => {
        const table = survey.collection(entry.id);
        if (!table) throw new Error(`collection ${entry.id} vanished`);
        const { deferred, bySeason } = entry;
        const published: PublishedEntry = {
          ...entry,
          description: describedEntry(entry, survey),
          ...(deferred ? { reach: deferred(survey) } : {}),
          ...(bySeason ? { inSeasons: (seasons) => survey.collection(entry.id, seasons) } : {}),
        };
        return new PublishedCollection(published, table, survey.frame);
      });
      ownCollections.set(survey, own);
    }
    return own;
  };

  const knownAt = new WeakMap<Survey, Map<string, Survey>>();
  const surveyAt = (survey: Survey, date: string | null): Survey => {
    if (date === null) return survey;
    const dates = knownAt.get(survey) ?? new Map<string, Survey>();
    knownAt.set(survey, dates);
    let known = dates.get(date);
    if (!known) {
      if (dates.size >= 4) dates.clear();
      known = survey.knownAt(date);
      dates.set(date, known);
    }
    return known;
  };

  const build = async (
    site: string,
    state: { version: number | null; identifiedAsOf: string | null },
  ): Promise<PublishedSite> => {
    const { survey, version } = await shelf.get(site, state.version);
    const known = surveyAt(survey, state.identifiedAsOf);
    const results = (await kept.of(survey)).flatMap((layers) => layers.collections);
    return new PublishedSite({ survey: known, version, own: collectionsOf(known), results });
  };

  const viewOf = (site: string, state: SurveyState): Promise<PublishedSite> => {
    const key = `${site}|${state.version}|${state.identifiedAsOf}`;
    const known = views.get(key);
    if (known?.revision === shelf.revision) return known.view;
    if (views.size >= 16) views.clear();
    const view = build(site, state);
    views.set(key, { revision: shelf.revision, view });
    view.catch(() => views.delete(key));
    return view;
  };

  const inSeasons = new WeakMap<PublishedSite, Map<string, PublishedSite>>();
  const viewInSeasons = (view: PublishedSite, asked: readonly string[]): PublishedSite => {
    const seasons = checkedSeasons(view.survey, asked);
    const key = JSON.stringify([...seasons].sort());
    const known = inSeasons.get(view) ?? new Map<string, PublishedSite>();
    inSeasons.set(view, known);
    let chosen = known.get(key);
    if (!chosen) {
      const own = [...view.collections.values()].map((collection) => collection.inSeasons(seasons));
      chosen = new PublishedSite({ survey: view.survey, version: view.version, own, results: [] });
      if (known.size >= 8) known.clear();
      known.set(key, chosen);
    }
    return chosen;
  };

  const conditions = (
    view: PublishedSite,
    selection: Selection,
    unknownProperty: RowFilter['unknownProperty'] = 'refuse',
  ): RowConditions => {
    const seasons = checkedSeasons(view.survey, selection.seasons);
    const classes = selection.classes.flatMap((id) => [...view.survey.classTree.withChildren(id)]);
    return {
      seasons: seasons.size > 0 ? seasons : null,
      classes: classes.length > 0 ? new Set(classes) : null,
      bbox: selection.bbox,
      datetime: selection.datetime,
      equals: selection.equals,
      filter: selection.filter ? { ...selection.filter, unknownProperty } : null,
    };
  };

  const outputs = async (site: string, parts: AnswerParts): Promise<Outputs> => {
    const plain = parts.get('echo.json');
    if (plain) {
      const value = JSON.parse(new TextDecoder().decode(plain)) as Record<string, unknown>;
      return new Map(Object.entries(value).map(([id, v]) => [id, { mediaType: 'application/json', value: v }]));
    }
    const { survey } = await shelf.get(site, null);
    return answerOutputs(answerFromParts(parts), survey.frame);
  };

  const processes = [...catalogue.map(describeProcess), echoDescription()];

  return {
    sites: () => store.sites(),
    revision: () => shelf.revision,
    async survey(site, state) {
      const view = await viewOf(site, state);
      return state.seasons && state.seasons.length > 0 ? viewInSeasons(view, state.seasons) : view;
    },
    versions: (site) => shelf.versions(site),
    async select(survey, collection, selection) {
      return published(collection).rows(conditions(survey as PublishedSite, selection));
    },
    csv(collection, rows, crs) {
      const { table, placed } = published(collection);
      return collectionCsv({ table, rows, crs, coordinates: placed.coordinates(crs), idColumn: 'feature_id' });
    },
    async tile({ survey, collections, z, x, y, selection, set }) {
      const view = survey as PublishedSite;
      if (selection.filter && collections.length > 1) checkProperties(selection.filter.expression, collections);
      // over several layers a property that only one of them has is unknown in the others
      const chosen = conditions(view, selection, collections.length > 1 ? 'unknown' : 'refuse');
      const { filter } = selection;
      const key = JSON.stringify([selection.seasons, selection.classes, filter && [filter.crs, filter.key]]);
      const ids = collections.map((collection) => collection.id);
      const address = JSON.stringify([
        view.site.id,
        view.version.version,
        view.identifiedAsOf,
        set?.id,
        ids,
        z,
        x,
        y,
        key,
      ]);
      const held = tiles.get(address);
      if (held) return held;
      const layers = collections.map((collection) => ({
        layer: collection.id,
        bytes: published(collection).tile({ z, x, y, ...(set && { set }) }, chosen, key),
      }));
      const tag = createHash('sha256').update(address).digest('hex').slice(0, 16);
      return tiles.put(address, { bytes: joinLayers(layers), etag: `v${view.version.version}-${z}-${x}-${y}-${tag}` });
    },
    async coverage(survey, collection, selection) {
      const view = survey as PublishedSite;
      const seasons = checkedSeasons(view.survey, selection.seasons);
      const own = await siteCoverage({ store, shelf }, view.survey, { collection: collection.id, seasons });
      if (own) return own;
      const result = (await kept.of(view.survey)).find(
        (layers) => layers.coverage !== null && layers.collections.some((c) => c.id === collection.id),
      );
      if (!result?.coverage)
        throw new Problem('no-such-collection', `collection ${collection.id} is not a surface`, {
          collection: collection.id,
        });
      return surfaceGeoTiff(result.coverage, view.survey.frame);
    },
    async download(survey, format, selection) {
      const view = survey as PublishedSite;
      const own = [...view.collections.values()].filter(({ id }) => !id.startsWith('result-'));
      if (selection.filter) checkProperties(selection.filter.expression, own);
      const chosen = conditions(view, selection, 'unknown');
      const seasons = checkedSeasons(view.survey, selection.seasons);
      return downloads.get({
        of: view,
        format,
        selection,
        gather: () => ({
          survey: view.survey,
          version: view.version,
          layers: own.map((collection) => ({ collection, rows: collection.rows(chosen) })),
          surface: ({ id }) =>
            surfaceOrNull(() => siteCoverage({ store, shelf }, view.survey, { collection: id, seasons })),
          ...receivedIn(store, view.version),
          conditions: chosen,
          conditionsKey: `download ${JSON.stringify(selection)}`,
          selectionSentence: selectionSentence(selection, view.identifiedAsOf),
        }),
      });
    },
    styles: (survey) => siteStyles(survey as PublishedSite),
    style: (survey, id, addresses) => siteStyle(survey as PublishedSite, id, addresses),
    processes: () => processes,
    async execute(request): Promise<Execution> {
      const run = {
        site: request.site,
        process: request.process,
        inputs: request.inputs,
        request: JSON.stringify({ inputs: request.inputs, delivery: request.delivery }),
        signal: request.signal,
      };
      if (request.mode === 'async') return { kind: 'job', job: await desk.runLater(run) };
      const { parts, job } = await desk.runNow(run);
      return { kind: 'done', outputs: await outputs(request.site, parts), job };
    },
    jobs: (site) => desk.jobs(site),
    job: (site, id) => desk.job(site, id),
    async results(site, id) {
      const { parts } = await desk.result(site, id);
      return outputs(site, parts);
    },
    dismiss: (site, id) => desk.dismiss(site, id),
    async ready() {
      const store_ = await store.sites().then(
        () => true as const,
        (error: unknown) => (error instanceof Error ? error.message : String(error)),
      );
      return { store: store_, queue: true };
    },
  };
}

/** Collections that reach the service were made by it. */
function published(collection: CollectionView): PublishedCollection {
  if (collection instanceof PublishedCollection) return collection;
  throw new Error(`collection ${collection.id} was not made here`);
}
