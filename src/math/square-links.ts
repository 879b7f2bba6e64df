/** Which squares are neighbours, as rows: square i has the neighbours to[start[i]] … to[start[i + 1] − 1]. */
export interface SquareLinks {
  readonly n: number;
  /** [n + 1] */
  readonly start: Uint32Array;
  readonly to: Uint32Array;
  /** of each link: 1 (binary), or 1 over the neighbours of the square it starts from (row-standardised) */
  readonly weight: Float64Array;
}

/** rook: squares that share a side; queen: a side or a corner */
export type Contiguity = 'rook' | 'queen';
/** W: every square's neighbours weigh 1 together; B: every neighbour weighs 1 */
export type WeightStyle = 'W' | 'B';

const steps: Readonly<Record<Contiguity, readonly (readonly [number, number])[]>> = {
  rook: [
    [0, -1],
    [-1, 0],
    [1, 0],
    [0, 1],
  ],
  queen: [
    [-1, -1],
    [0, -1],
    [1, -1],
    [-1, 0],
    [1, 0],
    [-1, 1],
    [0, 1],
    [1, 1],
  ],
};

/**
 * Neighbours among squares of a lattice; squares that were not dug are simply not there.
 * @param columns  [n] column of each square
 * @param rows     [n] row of each square; no two squares alike
 */
export function squareLinks(
  columns: ArrayLike<number>,
  rows: ArrayLike<number>,
  how: { readonly contiguity: Contiguity; readonly style: WeightStyle },
): SquareLinks {
  const n = columns.length;
  const at = new Map<string, number>();
  for (let i = 0; i < n; i++) at.set(`${columns[i]} ${rows[i]}`, i);
  const start = new Uint32Array(n + 1);
  const to: number[] = [];
  for (let i = 0; i < n; i++) {
    for (const [dc, dr] of steps[how.contiguity]) {
      const j = at.get(`${columns[i] + dc} ${rows[i] + dr}`);
      if (j !== undefined) to.push(j);
    }
    start[i + 1] = to.length;
  }
  const weight = new Float64Array(to.length);
  for (let i = 0; i < n; i++) {
    weight.fill(how.style === 'W' ? 1 / (start[i + 1] - start[i]) : 1, start[i], start[i + 1]);
  }
  return { n, start, to: Uint32Array.from(to), weight };
}
