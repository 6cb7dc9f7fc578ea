import type { AlertJson } from '@duskline/contract';

/** What an alert's card is made from. */
export interface AlertCardProps {
  readonly alert: AlertJson;
  readonly timeZone: string;
  readonly mayHandle: boolean;
  /** Rejects when it was not recorded. */
  readonly ontake: (alert: AlertJson) => Promise<void>;
  readonly onseen: (alert: AlertJson) => Promise<void>;
}
