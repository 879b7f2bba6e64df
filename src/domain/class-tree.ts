import { Problem } from '../problems.js';
import type { ArtefactClass } from './site.js';

/** The artefact classes of a site as a tree: a parent stands for all its children. */
export interface ClassTree {
  readonly classes: readonly ArtefactClass[];
  /** a class with all below it; @throws Problem unknown-class */
  withChildren(id: string): ReadonlySet<string>;
}

/**
 * Builds the tree.
 * @throws Problem bad-folder when a parent is unknown or a class is its own ancestor
 */
export function classTree(classes: readonly ArtefactClass[]): ClassTree {
  const children = new Map<string, string[]>();
  const ids = new Set(classes.map((c) => c.id));
  for (const c of classes) {
    if (c.parent === null) continue;
    if (!ids.has(c.parent)) {
      throw new Problem(
        'bad-folder',
        `site.json: artefact class "${c.id}" names the parent "${c.parent}", which is not in the list`,
      );
    }
    children.set(c.parent, [...(children.get(c.parent) ?? []), c.id]);
  }
  const below = (id: string, found: Set<string>): Set<string> => {
    for (const child of children.get(id) ?? []) {
      if (found.has(child)) throw new Problem('bad-folder', `site.json: artefact class "${child}" is its own ancestor`);
      found.add(child);
      below(child, found);
    }
    return found;
  };
  for (const c of classes) below(c.id, new Set([c.id]));
  return {
    classes,
    withChildren(id) {
      if (!ids.has(id)) {
        throw new Problem(
          'unknown-class',
          `artefact class "${id}" is not known here; the classes are ${[...ids].join(', ')}`,
          { artefact_class: id },
        );
      }
      return below(id, new Set([id]));
    },
  };
}
