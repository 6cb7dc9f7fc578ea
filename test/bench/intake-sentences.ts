import type { IntakeReport } from './intake-bench.ts';

const round = (value: number) => Math.round(value).toLocaleString('en-GB');

/** The figures of the intake as people read them. */
export const intakeSentences = (report: IntakeReport): readonly string[] => [
  `intake, one sample of 12 readings a message: ${round(report.readingsPerSecondSingleSampleMessages)} readings/s stored, PUBACK after commit`,
  `intake, packs of 60 samples: ${round(report.readingsPerSecondBacklogPacks)} readings/s stored`,
  `bare bulk statements of the same rows: ${round(report.readingsPerSecondBulkStatements)} readings/s; intake is ${report.singleToBulkRatio.toFixed(2)} of it by single samples, ${report.packsToBulkRatio.toFixed(2)} by packs`,
  `the same messages again: ${round(report.duplicateReadingsPerSecond)} duplicate readings/s, ${report.walBytesPerDuplicateReading} bytes of WAL each`,
  `backlog of ${report.backlogNodes} nodes × ${report.backlogDays} days at 30 s (${round(report.backlogReadings)} readings) through the whole server: ${report.backlogDrainedMinutes} min, ${round(report.backlogReadingsPerSecond)} readings/s${report.quick ? `; thirty days at this rate ${report.backlogDrainedMinutesFor30Days} min` : ''}`,
  `meanwhile ${report.liveMessagesDuringBacklog} live messages, from publish until a reader of the database sees them: on connections of their own p50 ${report.liveLagP50Ms} ms, p99 ${report.liveLagP99Ms} ms, longest ${report.liveLagMaxMs} ms; of the senders of the backlog p50 ${report.liveLagOfSendersP50Ms} ms, p99 ${report.liveLagOfSendersP99Ms} ms; server at most ${report.serverRssPeakMb} MB`,
  `on disk: ${report.diskBytesPerReading} bytes a reading, key included (table ${report.heapBytesPerReading}, key ${report.keyBytesPerReading}; ${report.rewrittenSharePct} % of the rows written a second time with flags)`,
];
