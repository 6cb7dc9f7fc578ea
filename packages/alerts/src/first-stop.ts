import { DAY_MS, type Outlook } from '@duskline/domain';

/**
 * When a node has stopped with one chance in ten, by its outlook: the date before which an alert wants somebody there, and
 * the latest safe date of its site, are this one and no other.
 */
export const firstStopMs = ({
  issuedAtMs,
  p10Days,
}: Pick<Extract<Outlook, { kind: 'empties-in' }>, 'issuedAtMs' | 'p10Days'>): number =>
  issuedAtMs + p10Days * DAY_MS;
