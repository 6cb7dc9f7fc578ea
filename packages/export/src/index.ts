export {
  aggregateSeconds,
  exportFormats,
  positionChoices,
  SPREADSHEET_ROWS,
  type AggregateLength,
  type ExportFormat,
  type ExportRequest,
  type PositionChoice,
} from './export-request.ts';
export type {
  ExportFrame,
  ExportSite,
  ExportSource,
  SourceOutlook,
  SourceRule,
  SourceSample,
} from './export-source.ts';
export { nameHider, type NamedPerson } from './hide-names.ts';
export { textCell, unguardedText } from './csv-text.ts';
export { darkSeason, gapWarning, joinSeasons, type DarkSeason } from './dark-season.ts';
export { gapCauses, splitTime, type GapCause, type Stretch } from './split-time.ts';
export { tableCsv, field, type Cell, type Field } from './tables/table.ts';
export { instantText } from './utc-text.ts';
export {
  writeExport,
  type ExportOutcome,
  type ExportProgress,
  type WriteDeps,
} from './write-export.ts';
