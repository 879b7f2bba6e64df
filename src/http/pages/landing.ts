import { type Shown, shownPieces, shownSentence } from '../../figures/sentence.js';
import { cautions } from './cautions.js';
import {
  anchor,
  commandBlock,
  copyField,
  dataElement,
  escapeHtml,
  linkList,
  type PageFrame,
  type PageLink,
  page,
  table,
} from './layout.js';

/** One layer in the list beside the map. */
export interface LandingLayer {
  /** collection id */
  readonly id: string;
  readonly title: string;
  /** 'points', 'lines', 'areas', 'surface', 'table' */
  readonly kind: string;
  /** number of records; null where counting makes no sense */
  readonly count: number | null;
  readonly links: readonly PageLink[];
  /** false: listed, but not drawn until its word is clicked; null: not on the map */
  readonly shown: boolean | null;
}

/** A question of the trade and the three ways to run it. */
export interface LandingAnalysis {
  readonly question: string;
  readonly title: string;
  readonly processUrl: string;
  readonly curl: string;
  readonly commandLine: string;
  /** the answer in one sentence, when it was run before */
  readonly answer?: string;
}

/** What the map needs; it is drawn from our own tiles only. */
export interface LandingMap {
  readonly styleUrl: string;
  /** west, south, east, north, degrees */
  readonly bounds: readonly [number, number, number, number];
  /** azimuth of site_north from true_north, degrees clockwise: the sheet is drawn square to the grid */
  readonly siteNorthAzimuthDeg: number;
  /** the site grid on the ground, for the metres along the frame; null = none are written */
  readonly grid: {
    readonly widthM: number;
    readonly heightM: number;
    /** longitude and latitude of local (0, 0), (widthM, 0) and (0, heightM) */
    readonly origin: readonly [number, number];
    readonly alongX: readonly [number, number];
    readonly alongY: readonly [number, number];
  } | null;
}

/** Everything the first page of a site shows. */
export interface LandingModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly site: { readonly id: string; readonly name: string; readonly period?: string };
  /** what the map shows: heads the page */
  readonly shown: Shown;
  /** lines of the title block in order: subject, seasons, n, window, data version, vertical datum, source … */
  readonly facts: readonly { readonly name: string; readonly value: string }[];
  /** colours of the classes on the map */
  readonly legend: readonly { readonly title: string; readonly colour: string }[];
  readonly map: LandingMap | null;
  /** a drawn plan (SVG text, trusted) that stands where the map will be, and stays without script */
  readonly planSvg: string | null;
  readonly layers: readonly LandingLayer[];
  /** addresses for a GIS desktop, each with the setting that goes with it */
  readonly addresses: readonly { readonly title: string; readonly value: string; readonly hint?: string }[];
  readonly analyses: readonly LandingAnalysis[];
  /** further resources: OpenAPI, conformance, tilesets, styles, export */
  readonly links: readonly PageLink[];
  /** cautions of this site, after the general ones */
  readonly siteCautions: readonly string[];
}

/**
 * First page of a site: the sentence, the sheet, the margin with questions, the layers, the addresses to paste and
 * the cautions. Only the map needs script.
 */
export function landingPage(model: LandingModel): string {
  const body = [
    `<p class="site">${escapeHtml([model.site.name, model.site.period].filter(Boolean).join(', '))}</p>`,
    sentence(model.shown),
    '<div class="desk">',
    sheet(model),
    margin(model),
    '</div>',
    layers(model),
    addresses(model),
    cautionList(model.siteCautions),
    `<section aria-labelledby="more"><h2 id="more">Everything else of this site</h2>${linkList(model.links)}</section>`,
  ].join('\n');
  return page({
    ...model.frame,
    title: model.site.name,
    styles: model.map === null ? [] : ['maplibre-gl.css'],
    modules: model.map === null ? ['copy.js'] : ['map.js', 'copy.js'],
    body,
  });
}

function sentence(shown: Shown): string {
  const words = shownPieces(shown).map((p) =>
    p.choice === undefined ? escapeHtml(p.text) : `<strong data-choice="${p.choice}">${escapeHtml(p.text)}</strong>`,
  );
  return `<h1 class="sentence">${words.join('')}</h1>`;
}

function sheet(model: LandingModel): string {
  const plan =
    model.planSvg ??
    '<p class="notice">The map needs script and WebGL. The layers below carry the same records as pages and files.</p>';
  const label = escapeHtml(shownSentence(model.shown));
  const config =
    model.map === null
      ? ''
      : dataElement('map-config', {
          ...model.map,
          layers: model.layers
            .filter((l) => l.shown !== null)
            .map((l) => ({ id: l.id, title: l.title, shown: l.shown, itemsUrl: itemsUrl(l) })),
        });
  return `<section class="sheet" aria-label="Sheet">
<div class="map-frame"><div id="map" class="map" role="region" aria-label="${label}">${plan}</div></div>
${config}
<div class="sheet-foot">
<div class="sheet-words" data-map-words></div>
${titleBlock(model)}
</div>
</section>`;
}

function itemsUrl(layer: LandingLayer): string | null {
  return layer.links.find((l) => l.rel === 'items')?.href ?? null;
}

function titleBlock(model: LandingModel): string {
  const legend = model.legend.map(
    // the colour is drawn, not styled: a policy that refuses inline styles stays whole
    (l) =>
      `<li><svg width="14" height="14" viewBox="0 0 14 14" aria-hidden="true"><circle cx="7" cy="7" r="5" fill="${escapeHtml(l.colour)}" stroke="currentColor"/></svg>${escapeHtml(l.title)}</li>`,
  );
  const facts = model.facts.map((f) => `<div><dt>${escapeHtml(f.name)}</dt><dd>${escapeHtml(f.value)}</dd></div>`);
  return (
    `<div class="title-block"><p class="code">${escapeHtml(model.site.id)}</p>` +
    `${legend.length === 0 ? '' : `<ul class="legend">${legend.join('')}</ul>`}` +
    `<dl>${facts.join('')}</dl></div>`
  );
}

function margin(model: LandingModel): string {
  const cards = model.analyses.map(
    (a) => `<article class="card">
<h3>${escapeHtml(a.question)}</h3>
<p>${a.answer === undefined ? '' : `${escapeHtml(a.answer)} `}${anchor({ href: a.processUrl, title: a.title, rel: 'process' })}</p>
<details><summary>Run it</summary>
${commandBlock('over HTTP', a.curl)}
${commandBlock('on the command line', a.commandLine)}
</details>
</article>`,
  );
  return `<aside class="margin" aria-labelledby="margin"><h2 id="margin">Questions</h2>\n${cards.join('\n')}\n</aside>`;
}

function layers(model: LandingModel): string {
  const rows = model.layers.map((l) => [
    escapeHtml(l.title),
    escapeHtml(l.kind),
    l.count === null ? '' : escapeHtml(String(l.count)),
    l.shown === null ? '' : `<span data-layer="${escapeHtml(l.id)}">${l.shown ? 'shown' : 'hidden'}</span>`,
    l.links.map((link) => anchor(link)).join(' '),
  ]);
  const columns = [
    { title: 'Layer' },
    { title: 'Kind' },
    { title: 'Records', number: true },
    { title: 'On the map' },
    { title: 'Open' },
  ];
  return `<section aria-labelledby="layers"><h2 id="layers">Layers</h2>\n${table(columns, rows, 'Layers of this site')}</section>`;
}

function addresses(model: LandingModel): string {
  return `<section aria-labelledby="addresses"><h2 id="addresses">Addresses to paste into a GIS desktop</h2>
<div class="fields">
${model.addresses.map(copyField).join('\n')}
</div></section>`;
}

function cautionList(siteCautions: readonly string[]): string {
  const lines = [
    ...cautions.map((c) => `<li><strong>${escapeHtml(c.word)}.</strong> ${escapeHtml(c.sentence)}</li>`),
    ...siteCautions.map((c) => `<li><strong>This site.</strong> ${escapeHtml(c)}</li>`),
  ];
  return `<section class="cautions" aria-labelledby="cautions"><h2 id="cautions">Cautions: local law and licensed practice decide</h2>
<ul>
${lines.join('\n')}
</ul></section>`;
}
