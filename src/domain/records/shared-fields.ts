import type { Field } from '../fields.js';

// columns that several record files share, said once so that titles, units and bounds agree

/** The season a record belongs to: an id of site.json. */
export const season: Field = { name: 'season', title: 'Season', type: 'text' };

/** The site grid that coordinates, squares and nodes of a row are meant in: an id of site.json. */
export const grid: Field = {
  name: 'grid',
  title: 'Site grid',
  description: 'Grid of the coordinates and labels in this row; the first grid when empty',
  type: 'text',
};

/** Largest distance from the grid origin that a plan coordinate may have, metres: a typing error lies beyond it. */
const planLimit = 200_000;

/** A plan coordinate in site-grid metres. */
export const planMetres = (name: string, title: string): Field => ({
  name,
  title,
  type: 'number',
  unit: 'm',
  min: -planLimit,
  max: planLimit,
});

/** An elevation, up-positive metres in the site's vertical datum: between the deepest trench and the highest lake. */
export const elevation = (name: string, title: string, description?: string): Field => ({
  name,
  title,
  ...(description === undefined ? {} : { description }),
  type: 'number',
  unit: 'm',
  min: -12_000,
  max: 9_000,
});

/** A standard deviation in metres. */
export const sigma = (name: string, title: string): Field => ({
  name,
  title,
  type: 'number',
  unit: 'm',
  min: 0,
  max: 10_000,
});

/** A remark: mostly different from row to row. */
export const note: Field = { name: 'note', title: 'Note', type: 'text', distinct: true };

export const date: Field = { name: 'date', title: 'Date', type: 'date' };

export const time: Field = { name: 'time', title: 'Time of day', type: 'time' };

/** How sure the recorder was, in the project's own words. */
export const certainty: Field = { name: 'certainty', title: 'Certainty', type: 'text' };
