export { cardDoubts, type CardDoubt, type ReadFile } from './card-doubts.ts';
export {
  delimiters,
  type CardColumn,
  type CardForm,
  type CardSettings,
  type ColumnUse,
  type DateOrder,
  type DecimalMark,
  type Delimiter,
} from './card-form.ts';
export { createCardPass, settledFolds, type CardPass } from './card-pass.ts';
export { CardRefused } from './card-refused.ts';
export { usualStepMs, type CardTally, type LineExample, type PreviewRow } from './card-tally.ts';
export { cardUnits, unitScale } from './card-units.ts';
export { createLineCutter, type LineCutter } from './cut-lines.ts';
export { LINES_LOOKED_AT, understandCard } from './understand-card.ts';
export { isZone, sameWallTime } from './zone-clock.ts';
export {
  MOST_TEXT_BYTES,
  newUnpackBudget,
  unpackCard,
  type CardText,
  type UnpackBudget,
} from './unpack-card.ts';
