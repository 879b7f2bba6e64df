import { childrenOf, type Expression } from './expression.js';
import { filterLimits, filterProblem } from './refusal.js';

/** Takes the parts of a filter as they are read and keeps it within its limits. */
export class FilterBuilder {
  readonly #depths = new Map<Expression, number>();
  #nodes = 0;
  #nesting = 0;

  /** @throws Problem bad-filter when the filter has grown too deep or too large */
  add<E extends Expression>(expression: E): E {
    let depth = 1;
    for (const child of childrenOf(expression)) depth = Math.max(depth, 1 + (this.#depths.get(child) ?? 0));
    if (depth > filterLimits.depth) this.#tooDeep(expression.at);
    this.#depths.set(expression, depth);
    this.count(1, expression.at);
    return expression;
  }

  /** Counts parts that are no expressions of their own, such as the positions of a line. */
  count(parts: number, at: string): void {
    this.#nodes += parts;
    if (this.#nodes > filterLimits.nodes) {
      throw filterProblem(
        at,
        `the filter has more than ${filterLimits.nodes} parts (operators, names, values, positions); ask for less at once`,
      );
    }
  }

  /** Runs a reader one level further in. */
  within<T>(at: string, read: () => T): T {
    this.#nesting++;
    if (this.#nesting > filterLimits.depth) this.#tooDeep(at);
    const result = read();
    this.#nesting--;
    return result;
  }

  #tooDeep(at: string): never {
    throw filterProblem(
      at,
      `the filter nests deeper than ${filterLimits.depth} levels; take brackets away or ask in parts`,
    );
  }
}
