import type { AlertJson, VisitJson } from '@duskline/contract';

/** What an alert's card is made from. */
export interface AlertCardProps {
  readonly alert: AlertJson;
  readonly timeZone: string;
  /** The next visit to its site, where one is planned or under way. */
  readonly visit?: VisitJson | undefined;
  readonly mayHandle: boolean;
  /** Rejects when it was not recorded. */
  readonly ontake: (alert: AlertJson) => Promise<void>;
  readonly onseen: (alert: AlertJson) => Promise<void>;
}
