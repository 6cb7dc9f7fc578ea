export { callChain, onCallAt, type RotaFacts } from './call-chain.ts';
export { callMessage, floodMessage, LONGEST_MESSAGE, oneLine } from './call-message.ts';
export { dutiesBetween, faultOfShift, type Duty } from './duties.ts';
export { handOverNote, morningLetter, type LetterFacts } from './morning-letter.ts';
export { ANSWER_WITHIN_MS, planCall, type CallPlan } from './plan-call.ts';
export {
  afterWaking,
  isQuiet,
  nextLocalMinute,
  nextWakingMs,
  wakingBetween,
} from './quiet-hours.ts';
export { rotaGaps, type RotaGap } from './rota-gaps.ts';
