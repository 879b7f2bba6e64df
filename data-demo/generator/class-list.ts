/** The artefact classes of the demo site: function, material, how heavy, how deep they were planted. */
interface ClassEntry {
  readonly id: string;
  readonly title: string;
  /** functional group, and the parent in the class tree; null: function not known */
  readonly group: string | null;
  readonly material: string;
  /** t/m³, from memory */
  readonly materialDensity: number;
  readonly sensitivity?: 'ordnance';
  /** finds of the register */
  readonly count: number;
  /** median weight in grams, and the spread of its logarithm */
  readonly weight: readonly [number, number];
  /** shapes of the Beta law of relative depth (0 = top of the deposit, 1 = bottom) */
  readonly depth: readonly [number, number];
  readonly sizeClass: 'small' | 'medium' | 'large';
  /** share kept by the 6 mm sieve of the first season; 1 when nothing slips through */
  readonly keptAt6mm: number;
}

const low = [6, 1.6] as const;
const ceramics = [2, 2.4] as const;
const middle = [2.2, 2] as const;
const heavy = [3, 2] as const;

const entry = (given: Omit<ClassEntry, 'keptAt6mm'> & { readonly keptAt6mm?: number }): ClassEntry => ({
  keptAt6mm: 1,
  ...given,
});

const stoneware = { material: 'stoneware', materialDensity: 2.0, depth: ceramics } as const;
const lead = { material: 'lead', materialDensity: 11.3, depth: low } as const;
const iron = { material: 'iron', materialDensity: 7.8, depth: heavy } as const;

export const groups: readonly { readonly id: string; readonly title: string }[] = [
  { id: 'cargo', title: 'Cargo' },
  { id: 'ship fittings', title: "Ship's fittings" },
  { id: 'fastenings', title: 'Fastenings' },
  { id: 'armament', title: 'Armament' },
  { id: 'galley', title: 'Galley' },
  { id: 'personal', title: 'Personal goods' },
  { id: 'fauna', title: 'Fauna' },
];

export const classList = {
  jar: entry({
    ...stoneware,
    id: 'stoneware jar',
    title: 'Stoneware jar',
    group: 'cargo',
    count: 1450,
    weight: [26, 0.8],
    sizeClass: 'medium',
  }),
  glass: entry({
    id: 'window glass',
    title: 'Window glass',
    group: 'ship fittings',
    material: 'glass',
    materialDensity: 2.5,
    count: 520,
    weight: [4, 0.7],
    depth: middle,
    sizeClass: 'small',
  }),
  brick: entry({
    id: 'hearth brick',
    title: 'Hearth brick',
    group: 'galley',
    material: 'brick',
    materialDensity: 1.9,
    count: 260,
    weight: [900, 0.7],
    depth: ceramics,
    sizeClass: 'large',
  }),
  pipe: entry({
    id: 'clay pipe',
    title: 'Clay pipe',
    group: 'personal',
    material: 'pipeclay',
    materialDensity: 1.9,
    count: 180,
    weight: [5, 0.5],
    depth: ceramics,
    sizeClass: 'small',
  }),
  spike: entry({
    id: 'copper-alloy spike',
    title: 'Copper-alloy spike',
    group: 'fastenings',
    material: 'copper alloy',
    materialDensity: 8.8,
    count: 340,
    weight: [210, 0.25],
    depth: [4, 2.2],
    sizeClass: 'medium',
  }),
  bone: entry({
    id: 'bone',
    title: 'Animal bone',
    group: 'fauna',
    material: 'bone',
    materialDensity: 1.9,
    count: 270,
    weight: [16, 0.9],
    depth: middle,
    sizeClass: 'small',
    keptAt6mm: 0.4,
  }),
  sheathing: entry({
    id: 'copper sheathing',
    title: 'Copper sheathing',
    group: 'ship fittings',
    material: 'copper',
    materialDensity: 8.9,
    count: 38,
    weight: [120, 0.8],
    depth: heavy,
    sizeClass: 'medium',
  }),
  shot: entry({
    ...lead,
    id: 'lead shot',
    title: 'Lead shot',
    group: 'armament',
    sensitivity: 'ordnance',
    count: 640,
    weight: [9, 0.5],
    sizeClass: 'small',
    keptAt6mm: 0.3,
  }),
  sheet: entry({
    ...lead,
    id: 'lead sheet',
    title: 'Lead sheet',
    group: 'ship fittings',
    count: 26,
    weight: [340, 0.7],
    sizeClass: 'medium',
  }),
  soundingLead: entry({
    ...lead,
    id: 'sounding lead',
    title: 'Sounding lead',
    group: 'ship fittings',
    count: 3,
    weight: [4200, 0.3],
    sizeClass: 'large',
  }),
  wood: entry({
    id: 'wood',
    title: 'Wood, worked pieces',
    group: 'ship fittings',
    material: 'waterlogged wood',
    materialDensity: 1.1,
    count: 310,
    weight: [180, 1],
    depth: [3, 1.8],
    sizeClass: 'medium',
  }),
  ironFastening: entry({
    ...iron,
    id: 'iron fastening',
    title: 'Iron fastening',
    group: 'fastenings',
    count: 1090,
    weight: [150, 0.8],
    sizeClass: 'medium',
  }),
  unidentifiedIron: entry({
    ...iron,
    id: 'unidentified iron object',
    title: 'Unidentified iron object',
    group: null,
    count: 60,
    weight: [480, 0.7],
    sizeClass: 'medium',
  }),
  ironBar: entry({
    ...iron,
    id: 'iron bar',
    title: 'Iron bar',
    group: 'cargo',
    count: 46,
    weight: [9500, 0.3],
    sizeClass: 'large',
  }),
  nail: entry({
    ...iron,
    id: 'nail',
    title: 'Nail',
    group: 'fastenings',
    count: 620,
    weight: [14, 0.5],
    depth: [2, 2],
    sizeClass: 'medium',
  }),
  tableware: entry({
    id: 'tableware',
    title: 'Tableware',
    group: 'galley',
    material: 'earthenware',
    materialDensity: 2.0,
    count: 420,
    weight: [8, 0.7],
    depth: ceramics,
    sizeClass: 'medium',
  }),
  leather: entry({
    id: 'leather',
    title: 'Leather',
    group: 'personal',
    material: 'leather',
    materialDensity: 1.1,
    count: 127,
    weight: [22, 0.8],
    depth: [2.6, 2],
    sizeClass: 'medium',
  }),
} as const satisfies Record<string, ClassEntry>;

export type ClassName = keyof typeof classList;
export const classNames = Object.keys(classList) as ClassName[];

/** What 23 of the unidentified iron objects turned out to be, after X-ray in 2025. */
export const axeHead = {
  id: 'axe head',
  title: 'Axe head',
  group: 'cargo',
  material: 'iron',
  materialDensity: 7.8,
} as const;
