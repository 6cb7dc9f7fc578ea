import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { WatchPorts } from '../watch-port.ts';

type Entry = Parameters<WatchPorts['audit']['add']>[0];

/** Writes down who changed what, and from where they asked. Called once it has been changed. */
export const writeDown = (
  { watch, now }: { readonly watch: WatchPorts; readonly now: ApiDeps['now'] },
  request: Parameters<typeof principalOf>[0],
  entry: Omit<Entry, 'atMs' | 'by' | 'ip'>,
): Promise<void> =>
  watch.audit.add({
    atMs: now(),
    by: principalOf(request).account.name,
    ip: request.ip,
    ...entry,
  });
