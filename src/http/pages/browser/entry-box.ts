import type { MapGeoJSONFeature } from 'maplibre-gl';

/** One layer of the map as the page names it. */
export interface ListedLayer {
  readonly id: string;
  readonly title: string;
  readonly shown: boolean;
  readonly itemsUrl: string | null;
}

/** Most columns shown in the box; the record's own page has all. */
const mostColumns = 12;

/** The box that shows the register entry under the pointer; text only, whatever the record holds. */
export class EntryBox {
  readonly #box: HTMLElement;
  #held = false;

  constructor(holder: HTMLElement) {
    this.#box = document.createElement('div');
    this.#box.className = 'entry';
    this.#box.hidden = true;
    this.#box.setAttribute('role', 'status');
    holder.append(this.#box);
  }

  /** Shows a record until the pointer moves on. */
  point(feature: MapGeoJSONFeature | undefined, layer: ListedLayer | undefined): void {
    if (this.#held) return;
    if (feature === undefined || layer === undefined) this.#box.hidden = true;
    else this.#fill(feature, layer);
  }

  /** Keeps a record in view until another place is clicked. */
  hold(feature: MapGeoJSONFeature | undefined, layer: ListedLayer | undefined): void {
    this.#held = false;
    this.point(feature, layer);
    this.#held = feature !== undefined;
  }

  #fill(feature: MapGeoJSONFeature, layer: ListedLayer): void {
    const heading = document.createElement('strong');
    heading.textContent = layer.title;
    const list = document.createElement('dl');
    const known = Object.entries(feature.properties).filter(([, value]) => value !== null && value !== '');
    for (const [name, value] of known.slice(0, mostColumns)) {
      const row = document.createElement('div');
      const term = document.createElement('dt');
      const meaning = document.createElement('dd');
      term.textContent = name;
      meaning.textContent = valueText(value);
      row.append(term, meaning);
      list.append(row);
    }
    this.#box.replaceChildren(heading, list);
    if (layer.itemsUrl !== null && feature.id !== undefined) {
      const link = document.createElement('a');
      link.href = `${layer.itemsUrl.split('?')[0]}/${feature.id}?f=html`;
      link.textContent = known.length > mostColumns ? `the whole entry, ${known.length} columns` : 'the entry';
      this.#box.append(link);
    }
    this.#box.hidden = false;
  }
}

/** Numbers with six digits at most, ids and counts whole; everything else as it is. */
function valueText(value: unknown): string {
  if (typeof value !== 'number') return String(value);
  return String(Number.isInteger(value) ? value : Number(value.toPrecision(6))).replace('-', '\u2212');
}
