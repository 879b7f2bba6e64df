/** The library face: the analyses by id, what they take and give, and refusals. */
export { catalogue } from './analyses/catalogue.js';
export type { Analysis, Answer, RunControl } from './analyses/contract.js';
export { executeAnalysis } from './analyses/execute.js';
export { checkInputs } from './analyses/inputs.js';
export { collections } from './domain/collections.js';
export type { FeatureTable } from './domain/feature-table.js';
export type { Sample } from './domain/sample.js';
export { plainSample } from './operations/plain-sample.js';
export { Problem, type ProblemCode } from './problems.js';
