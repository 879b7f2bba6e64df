import * as z from 'zod';

// UCUM codes; x-ogc-unit carries them into every schema we publish (OGC API – Features – Part 5)
const measure = (unit: string) => (title: string) => z.number().meta({ title, 'x-ogc-unit': unit });

export const metres = measure('m');
export const squareMetres = measure('m2');
export const perSquareMetre = measure('m-2');
export const perMetre = measure('m-1');
export const degrees = measure('deg');
/** A number without unit: a ratio, a z value, a probability. */
export const plain = measure('1');
/** A count of things. */
export const counted = (title: string) => z.int().meta({ title, 'x-ogc-unit': '1' });
