import type { AlertJson } from '@duskline/contract';

/** Whether a step shows: in what state an alert is, who has it, to whom it was handed, until when it is paused. */
export const alertChanged = (before: AlertJson, now: AlertJson): boolean =>
  before.state !== now.state ||
  before.takenBy !== now.takenBy ||
  before.handed?.to !== now.handed?.to ||
  before.paused?.until !== now.paused?.until;
