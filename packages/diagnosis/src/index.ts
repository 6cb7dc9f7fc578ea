export { explainSilence, type Silence } from './silence.ts';
export { judgeState, type StateJudgement } from './judge-state.ts';
export { silentAfterMs, type StateFacts } from './state-facts.ts';
