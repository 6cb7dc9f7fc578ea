import type { MessageJson } from '@duskline/contract';
import type { Person } from '@duskline/domain';
import type { KeptMessage } from '../watch-port.ts';
import { instant, instantOrNull } from './instant.ts';

export function messageJson(message: KeptMessage, people: readonly Person[]): MessageJson {
  return {
    key: message.key,
    kind: message.kind,
    alertId: message.alertId ?? null,
    priority: message.priority,
    person: people.find(({ id }) => id === message.personId)?.name ?? '',
    channel: message.channelKind ?? null,
    state: message.state,
    createdAt: instant(message.createdAtMs),
    dueAt: instant(message.dueAtMs),
    settledAt: instantOrNull(message.settledAtMs),
    attempts: message.attempts,
    error: message.error ?? null,
    text: message.body.text,
  };
}
