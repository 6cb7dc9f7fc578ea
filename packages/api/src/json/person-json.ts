import type { PersonJson } from '@duskline/contract';
import type { Person } from '@duskline/domain';
import { instantOrNull } from './instant.ts';

/**
 * @param whole   with what only the person and whoever arranges people may see
 * @param isCalled with the telephone number, because whoever asks may have to call it
 */
export function personJson(person: Person, whole: boolean, isCalled = false): PersonJson {
  return {
    id: person.id,
    name: person.name,
    role: person.role,
    endedAt: instantOrNull(person.endedAtMs),
    groups: [...person.groups],
    timeZone: person.timeZone,
    email: whole ? person.email : null,
    phone: whole || isCalled ? person.phone : null,
    quiet: whole
      ? { from: clockText(person.quiet.fromMinute), until: clockText(person.quiet.untilMinute) }
      : null,
    channels: whole
      ? person.channels.map(({ id, kind, address, fault }) => ({
          id,
          kind,
          // The endpoint of a push subscription is a key to it.
          address: kind === 'push' ? new URL(address).host : address,
          fault: fault ?? null,
        }))
      : null,
  };
}

const two = (value: number): string => String(value).padStart(2, '0');

const clockText = (minute: number): string => `${two(Math.floor(minute / 60))}:${two(minute % 60)}`;

/** `HH:MM` as minutes after midnight. */
export function minuteOf(text: string): number {
  const [hours, minutes] = text.split(':').map(Number);
  return (hours ?? 0) * 60 + (minutes ?? 0);
}
