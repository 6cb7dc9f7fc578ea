/** Outlooks from a plain log, as of any time in it. */
export { type LogSite, parseLogSite } from './log-site.ts';
export {
  type LogColumn,
  logColumns,
  type LogFault,
  type NodeLog,
  parseNodeLog,
} from './node-log.ts';
export { type OutlookOfLog, outlookOfLog } from './outlook-of-log.ts';
