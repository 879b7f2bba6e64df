import { exponential } from './elementary.js';
import { eachPair } from './pair-distances.js';
