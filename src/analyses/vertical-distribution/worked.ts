import type { WorkedExample } from '../contract.js';
export const worked: readonly WorkedExample[] = [];
