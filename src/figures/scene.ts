/**
 * A drawing as marks in millimetres on paper: origin at the upper left, y down. Pure data: svg.ts writes it as SVG,
 * later writers as PNG and PDF from the same marks.
 */
export interface Scene {
  readonly widthMm: number;
  readonly heightMm: number;
  /** one sentence for a reader who cannot see the drawing */
  readonly title: string;
  readonly marks: readonly Mark[];
}

export interface Stroke {
  readonly colour: string;
  readonly widthMm: number;
  /** dash and gap lengths, mm; none = solid */
  readonly dashMm?: readonly number[];
}

export type Mark =
  | { readonly kind: 'group'; readonly name: string; readonly marks: readonly Mark[] }
  | { readonly kind: 'line'; readonly points: readonly (readonly [number, number])[]; readonly stroke: Stroke }
  | {
      /** filled by the even-odd rule: a ring inside another is a hole */
      readonly kind: 'area';
      readonly rings: readonly (readonly (readonly [number, number])[])[];
      readonly fill: string | null;
      readonly opacity?: number;
      readonly stroke?: Stroke;
    }
  | {
      readonly kind: 'symbol';
      readonly symbol: Symbol;
      readonly at: readonly [number, number];
      readonly sizeMm: number;
      readonly colour: string;
      /** for colours too pale for paper */
      readonly outline?: Stroke;
    }
  | {
      readonly kind: 'text';
      readonly at: readonly [number, number];
      readonly text: string;
      readonly sizeMm: number;
      readonly colour: string;
      readonly anchor: 'start' | 'middle' | 'end';
      readonly weight?: 'normal' | 'bold';
      readonly turnDeg?: number;
    };

export type Symbol = 'circle' | 'square' | 'triangle-up' | 'triangle-down' | 'diamond' | 'cross' | 'plus' | 'ring';
