// The compiler's own library names WebAssembly only together with a browser; this is what is used of it.
declare const WebAssembly: {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object, imports: object) => { readonly exports: Record<string, unknown> };
  readonly Memory: new (size: { initial: number }) => { readonly buffer: ArrayBuffer };
};

/**
 * Room for products of one lower triangle with many columns of right sides, four columns side by side.
 * Row i, column t of the right sides stands at `at(i, t)` in `right`, and of the product in `product`.
 */
export interface TriangleRoom {
  /** lower triangle, row i from i·stride; rows up to the next multiple of four are used and must hold zeros there */
  readonly triangle: Float64Array;
  readonly stride: number;
  readonly right: Float64Array;
  readonly product: Float64Array;
  at(row: number, column: number): number;
  /** product = triangle × right, for so many rows and columns */
  multiply(rows: number, columns: number): void;
}

const doubleBytes = 8;
const pageBytes = 65_536;

/**
 * Makes room for a triangle of at most so many rows and right sides of at most so many columns.
 *
 * The product is a small WebAssembly function with two numbers in one register: measured, it takes 0.14 to 0.23 ns for
 * a multiplication and addition where the same loop on typed arrays takes 0.9 to 1.2 ns. Kriging variances are nothing
 * else.
 */
export function triangleRoom(mostRows: number, mostColumns: number): TriangleRoom {
  const stride = fours(mostRows);
  const groups = fours(mostColumns) / 4;
  const triangleBytes = stride * stride * doubleBytes;
  const groupBytes = stride * 4 * doubleBytes;
  const rightAt = triangleBytes;
  const productAt = rightAt + groups * groupBytes;
  const memory = new WebAssembly.Memory({ initial: Math.ceil((productAt + groups * groupBytes) / pageBytes) });
  const { exports } = new WebAssembly.Instance(kernel(), { room: { memory } });
  const product = exports['multiply'] as (...sizes: number[]) => void;
  return {
    triangle: new Float64Array(memory.buffer, 0, stride * stride),
    stride,
    right: new Float64Array(memory.buffer, rightAt, groups * stride * 4),
    product: new Float64Array(memory.buffer, productAt, groups * stride * 4),
    at: (row, column) => ((column >> 2) * stride + row) * 4 + (column & 3),
    multiply: (rows, columns) =>
      product(stride * doubleBytes, fours(rows), rightAt, productAt, groupBytes, fours(columns) / 4),
  };
}

const fours = (n: number) => 4 * Math.ceil(n / 4);

let compiled: object | null = null;

function kernel(): object {
  compiled ??= new WebAssembly.Module(Uint8Array.from(moduleBytes()));
  return compiled;
}

// The parts of the WebAssembly binary format that the function needs; names are those of the specification
// (WebAssembly Core Specification 2.0, W3C 2022, section 5).

function unsigned(value: number): number[] {
  const out: number[] = [];
  let rest = value;
  do {
    const low = rest & 127;
    rest >>>= 7;
    out.push(rest > 0 ? low | 128 : low);
  } while (rest > 0);
  return out;
}

const i32 = 0x7f;
const v128 = 0x7b;
const localGet = (local: number) => [0x20, local];
const localSet = (local: number) => [0x21, local];
const localTee = (local: number) => [0x22, local];
/** only below 64, where a whole number is one byte */
const i32Const = (value: number) => [0x41, value];
const i32Add = [0x6a];
const i32Mul = [0x6c];
const i32LessThan = [0x49];
const loop = (body: readonly number[]) => [0x03, 0x40, ...body, 0x0b];
const branchBack = [0x0d, 0];
const simd = (operation: number, ...more: number[]) => [0xfd, ...unsigned(operation), ...more];
const aligned8 = 3;
const v128Load = (offset: number) => simd(0, aligned8, ...unsigned(offset));
const v128Load64Splat = (offset: number) => simd(10, aligned8, ...unsigned(offset));
const v128Store = (offset: number) => simd(11, aligned8, ...unsigned(offset));
const v128Zero = simd(12, ...new Array<number>(16).fill(0));
const f64x2Add = simd(0xf0);
const f64x2Mul = simd(0xf2);

const parameters = { rowBytes: 0, rows: 1, right: 2, product: 3, groupBytes: 4, groups: 5 } as const;
const counters = { row: 6, firstRow: 7, group: 8, from: 9, end: 10, into: 11, four: 12 } as const;
const registers = { sums: 16, right: 24, scale: 26 } as const;

/**
 * For every four rows, for every group of four columns: eight registers gather the sixteen sums
 * Σ triangle[row + r][k] · right[k][column], k up to the last of the four rows (beyond the diagonal there are zeros).
 */
function multiplyBody(): number[] {
  const p = parameters;
  const c = counters;
  const sum = (r: number, half: number) => registers.sums + 2 * r + half;
  const each = (of: (r: number) => number[]) => [0, 1, 2, 3].flatMap(of);
  const addTo = (r: number, half: number) => [
    ...localGet(sum(r, half)),
    ...localGet(registers.scale),
    ...localGet(registers.right + half),
    ...f64x2Mul,
    ...f64x2Add,
    ...localSet(sum(r, half)),
  ];
  const overTerms = loop([
    ...localGet(c.from),
    ...v128Load(0),
    ...localSet(registers.right),
    ...localGet(c.from),
    ...v128Load(16),
    ...localSet(registers.right + 1),
    ...each((r) => [
      ...localGet(c.four + r),
      ...v128Load64Splat(0),
      ...localSet(registers.scale),
      ...addTo(r, 0),
      ...addTo(r, 1),
      ...localGet(c.four + r),
      ...i32Const(8),
      ...i32Add,
      ...localSet(c.four + r),
    ]),
    ...localGet(c.from),
    ...i32Const(32),
    ...i32Add,
    ...localTee(c.from),
    ...localGet(c.end),
    ...i32LessThan,
    ...branchBack,
  ]);
  const groupStart = (base: number) => [
    ...localGet(base),
    ...localGet(c.group),
    ...localGet(p.groupBytes),
    ...i32Mul,
    ...i32Add,
  ];
  const overGroups = loop([
    ...localGet(c.firstRow),
    ...localSet(c.four),
    ...[1, 2, 3].flatMap((r) => [
      ...localGet(c.four + r - 1),
      ...localGet(p.rowBytes),
      ...i32Add,
      ...localSet(c.four + r),
    ]),
    ...each((r) => [...v128Zero, ...localSet(sum(r, 0)), ...v128Zero, ...localSet(sum(r, 1))]),
    ...groupStart(p.right),
    ...localTee(c.from),
    ...localGet(c.row),
    ...i32Const(4),
    ...i32Add,
    ...i32Const(32),
    ...i32Mul,
    ...i32Add,
    ...localSet(c.end),
    ...overTerms,
    ...groupStart(p.product),
    ...localGet(c.row),
    ...i32Const(32),
    ...i32Mul,
    ...i32Add,
    ...localSet(c.into),
    ...each((r) =>
      [0, 1].flatMap((half) => [...localGet(c.into), ...localGet(sum(r, half)), ...v128Store(32 * r + 16 * half)]),
    ),
    ...localGet(c.group),
    ...i32Const(1),
    ...i32Add,
    ...localTee(c.group),
    ...localGet(p.groups),
    ...i32LessThan,
    ...branchBack,
  ]);
  const overRows = loop([
    ...i32Const(0),
    ...localSet(c.group),
    ...overGroups,
    ...localGet(c.firstRow),
    ...localGet(p.rowBytes),
    ...i32Const(4),
    ...i32Mul,
    ...i32Add,
    ...localSet(c.firstRow),
    ...localGet(c.row),
    ...i32Const(4),
    ...i32Add,
    ...localTee(c.row),
    ...localGet(p.rows),
    ...i32LessThan,
    ...branchBack,
  ]);
  return [...overRows, 0x0b];
}

function moduleBytes(): number[] {
  const name = (text: string) => [text.length, ...[...text].map((letter) => letter.charCodeAt(0))];
  const section = (id: number, content: readonly number[]) => [id, ...unsigned(content.length), ...content];
  // ten whole-number locals follow the six parameters, then eleven registers
  const body = [2, 10, i32, 11, v128, ...multiplyBody()];
  return [
    ...[0x00, 0x61, 0x73, 0x6d, 0x01, 0x00, 0x00, 0x00],
    ...section(1, [1, 0x60, 6, i32, i32, i32, i32, i32, i32, 0]),
    ...section(2, [1, ...name('room'), ...name('memory'), 2, 0, 1]),
    ...section(3, [1, 0]),
    ...section(7, [1, ...name('multiply'), 0, 0]),
    ...section(10, [1, ...unsigned(body.length), ...body]),
  ];
}
