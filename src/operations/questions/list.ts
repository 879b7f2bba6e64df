import { patternQuestions } from './pattern.js';
import type { Question } from './question.js';
import { recordQuestions } from './record.js';
import { shipQuestions } from './ship.js';
import { surveyQuestions } from './survey.js';

/** The questions analysts ask, by number; classes and seasons are those of the demo site. */
export const questions: readonly Question[] = [
  ...surveyQuestions,
  ...patternQuestions,
  ...shipQuestions,
  ...recordQuestions,
].sort((a, b) => a.number - b.number);
