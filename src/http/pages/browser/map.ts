// the sheet's map: our own tiles, square to the site grid, with words instead of icons
import type { Map as TileMap } from 'maplibre-gl';
import { EntryBox, type ListedLayer } from './entry-box.js';
import { drawFrameLabels, fromGrid, type GridOnGround, pixelsPerMetre, roundBelow } from './frame.js';

interface MapConfig {
  readonly styleUrl: string;
  readonly bounds: readonly [number, number, number, number];
  readonly siteNorthAzimuthDeg: number;
  readonly grid: GridOnGround | null;
  readonly layers: readonly ListedLayer[];
}

const holder = document.querySelector<HTMLElement>('#map');
const configText = document.querySelector('#map-config')?.textContent;
if (holder !== null && configText) {
  try {
    await openMap(holder, JSON.parse(configText) as MapConfig);
  } catch (reason) {
    // the drawn plan stays in its place
    holder.dataset['failed'] = reason instanceof Error ? reason.message : String(reason);
  }
}

async function openMap(element: HTMLElement, config: MapConfig): Promise<void> {
  // by address, not by name: the page has no import map, and the folder may lie below any path
  const besideThis = (name: string) => new URL(name, import.meta.url).href;
  const maplibre = (await import(besideThis('./maplibre-gl.mjs'))) as typeof import('maplibre-gl');
  maplibre.setWorkerUrl(besideThis('./maplibre-gl-worker.mjs'));
  if (document.createElement('canvas').getContext('webgl2') === null) throw new Error('no WebGL');

  const plan = [...element.childNodes];
  element.replaceChildren();
  const square = config.siteNorthAzimuthDeg;
  let map: TileMap;
  try {
    map = new maplibre.Map({
      container: element,
      style: config.styleUrl,
      bearing: square,
      maxZoom: 24,
      attributionControl: false,
      dragRotate: false,
      pitchWithRotate: false,
      touchPitch: false,
      fadeDuration: 0,
      center: [(config.bounds[0] + config.bounds[2]) / 2, (config.bounds[1] + config.bounds[3]) / 2],
      zoom: 19,
    });
  } catch (reason) {
    element.classList.remove('maplibregl-map');
    element.replaceChildren(...plan);
    throw reason;
  }
  map.touchZoomRotate.disableRotation();
  map.keyboard.disableRotation();
  showWhole(map, config);

  const drawnBy = (id: string) =>
    map
      .getStyle()
      .layers.filter((l) => (l.metadata as Record<string, string> | undefined)?.['wreckfield:collection'] === id)
      .map((l) => l.id);
  const setShown = (id: string, word: 'visible' | 'none') => {
    for (const layer of drawnBy(id)) map.setLayoutProperty(layer, 'visibility', word);
  };

  map.on('style.load', () => {
    for (const layer of config.layers) if (!layer.shown) setShown(layer.id, 'none');
    addSwitches(config.layers, setShown);
  });
  map.on('error', (event) => {
    element.dataset['failed'] = event.error.message;
  });
  map.on('movestart', () => {
    delete element.dataset['ready'];
  });
  map.on('idle', () => {
    if (!map.areTilesLoaded()) return;
    element.dataset['drawn'] = String(map.queryRenderedFeatures().length);
    element.dataset['ready'] = 'true';
  });

  const box = new EntryBox(element);
  const under = (point: { x: number; y: number }) => {
    const reach = 4;
    const [feature] = map.queryRenderedFeatures([
      [point.x - reach, point.y - reach],
      [point.x + reach, point.y + reach],
    ]);
    return [feature, config.layers.find((l) => l.id === feature?.source)] as const;
  };
  map.on('mousemove', (event) => box.point(...under(event.point)));
  map.on('click', (event) => box.hold(...under(event.point)));
  map.on('mouseout', () => box.point(undefined, undefined));

  addWords(map, config);
}

/** The whole site as large as the sheet allows: from the grid's corners, since a box of degrees is too wide once turned. */
function showWhole(map: TileMap, config: MapConfig): void {
  const [west, south, east, north] = config.bounds;
  const grid = config.grid;
  const corners: [number, number][] =
    grid === null
      ? [
          [west, south],
          [east, south],
          [east, north],
          [west, north],
        ]
      : [
          [0, 0],
          [grid.widthM, 0],
          [grid.widthM, grid.heightM],
          [0, grid.heightM],
        ].map(([x, y]) => fromGrid(grid, x, y));
  const places = corners.map((c) => map.project(c));
  const xs = places.map((p) => p.x);
  const ys = places.map((p) => p.y);
  const widthPx = Math.max(...xs) - Math.min(...xs);
  const heightPx = Math.max(...ys) - Math.min(...ys);
  const centre = map.unproject([(Math.max(...xs) + Math.min(...xs)) / 2, (Math.max(...ys) + Math.min(...ys)) / 2]);
  const { clientWidth, clientHeight } = map.getContainer();
  const enlarge = Math.min((clientWidth - 24) / widthPx, (clientHeight - 24) / heightPx);
  map.jumpTo({ center: centre, zoom: Math.min(24, map.getZoom() + Math.log2(enlarge)) });
}

/** Turns the words 'shown' and 'hidden' of the list into switches. */
function addSwitches(layers: readonly ListedLayer[], setShown: (id: string, word: 'visible' | 'none') => void): void {
  for (const layer of layers) {
    const place = document.querySelector<HTMLElement>(`[data-layer="${CSS.escape(layer.id)}"]`);
    if (place === null) continue;
    let shown = layer.shown;
    const button = word(shown ? 'shown' : 'hidden', () => {
      shown = !shown;
      setShown(layer.id, shown ? 'visible' : 'none');
      button.textContent = shown ? 'shown' : 'hidden';
      button.setAttribute('aria-pressed', String(shown));
    });
    button.setAttribute('aria-pressed', String(shown));
    button.setAttribute('aria-label', `${layer.title} on the map`);
    place.replaceChildren(button);
  }
}

function word(text: string, act: () => void): HTMLButtonElement {
  const button = document.createElement('button');
  button.type = 'button';
  button.className = 'word';
  button.textContent = text;
  button.addEventListener('click', act);
  return button;
}

/** Words that move the sheet, scale bar, norths, and metres along the frame. */
function addWords(map: TileMap, config: MapConfig): void {
  const place = document.querySelector<HTMLElement>('[data-map-words]');
  const frame = map.getContainer().parentElement;
  if (place === null || frame === null) return;
  const grid = config.grid;
  const square = config.siteNorthAzimuthDeg;
  // a bearing comes back wrapped to (−180, 180]
  const isSquare = () => Math.abs(((map.getBearing() - square + 540) % 360) - 180) < 0.01;

  const words = document.createElement('div');
  words.className = 'words';
  const turn = word('true_north up', () => {
    map.jumpTo({ bearing: isSquare() ? 0 : square });
    showWhole(map, config);
    turn.textContent = isSquare() ? 'true_north up' : 'site_north up';
  });
  words.append(
    word('closer', () => map.jumpTo({ zoom: map.getZoom() + 1 })),
    word('farther', () => map.jumpTo({ zoom: map.getZoom() - 1 })),
    word('whole site', () => showWhole(map, config)),
    turn,
  );

  const scale = document.createElement('div');
  scale.className = 'scale-bar';
  const norths = northArrow();
  place.append(norths.element, scale, words);

  const redraw = () => {
    norths.turn({ site_north: square - map.getBearing(), true_north: -map.getBearing() });
    if (grid === null) return;
    const perMetre = pixelsPerMetre(map, grid);
    const metres = roundBelow(120 / perMetre);
    const bar = document.createElement('div');
    bar.className = 'bar';
    bar.style.width = `${metres * perMetre}px`;
    const text = document.createElement('span');
    text.textContent = metres >= 1 ? `${metres}\u2009m` : `${Math.round(metres * 1000)}\u2009mm`;
    scale.replaceChildren(text, bar);
    drawFrameLabels(map, frame, grid, isSquare());
  };
  map.on('move', redraw);
  map.on('resize', redraw);
  redraw();
}

/** Two arrows from one foot, each with its full name. */
function northArrow(): { element: SVGSVGElement; turn(degrees: Record<'site_north' | 'true_north', number>): void } {
  const make = <K extends keyof SVGElementTagNameMap>(name: K, attributes: Record<string, string>) => {
    const made = document.createElementNS('http://www.w3.org/2000/svg', name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };
  const element = make('svg', { width: '165', height: '60', viewBox: '0 0 165 60', class: 'norths', role: 'img' });
  const site = make('path', { d: 'M0 0V-34l5 12l-5-2', fill: 'currentColor', stroke: 'currentColor' });
  const truth = make('path', { d: 'M0 0V-30', fill: 'none', stroke: 'currentColor', class: 'other' });
  const siteName = make('text', { x: '62', y: '30' });
  const trueName = make('text', { x: '62', y: '46', class: 'other' });
  siteName.textContent = 'site_north';
  element.append(truth, site, siteName, trueName);
  return {
    element,
    turn(degrees) {
      const place = (d: number) => `translate(30 50) rotate(${d.toFixed(2)})`;
      site.setAttribute('transform', place(degrees.site_north));
      truth.setAttribute('transform', place(degrees.true_north));
      const apart = ((degrees.true_north - degrees.site_north + 540) % 360) - 180;
      trueName.textContent = `true_north ${apart.toFixed(1).replace('-', '\u2212')}°`;
      element.setAttribute('aria-label', `site_north and true_north, ${apart.toFixed(1)} degrees apart`);
    },
  };
}
