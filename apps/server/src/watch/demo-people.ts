import { accountId, DAY_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';

/** Invented people of the demo; nobody can sign in as them. */
const PEOPLE = [
  { email: 'wren@greywater.example', name: 'Wren Halloway', role: 'coordinator' },
  { email: 'ash@greywater.example', name: 'Ash Fell', role: 'volunteer' },
  { email: 'moss@greywater.example', name: 'Moss Tarn', role: 'volunteer' },
] as const;
const NO_PASSWORD = '-';
const TIME_ZONE = 'Europe/London';

/** Three people with a rota of a week each, from last Monday on. Done once: where somebody is on the rota nothing happens. */
export async function inviteDemoPeople(store: Store, nowMs: number): Promise<void> {
  if ((await store.rota.shifts()).length > 0) return;
  const monday = new Date(nowMs);
  monday.setUTCDate(monday.getUTCDate() - ((monday.getUTCDay() + 6) % 7));
  for (const [i, { email, name, role }] of PEOPLE.entries()) {
    const known = (await store.people.list()).find((person) => person.email === email);
    const id = accountId(
      known?.id ??
        (await store.accounts.create({ email, name, role, passwordHash: NO_PASSWORD })).id,
    );
    await store.people.change(id, { timeZone: TIME_ZONE });
    await store.people.addChannel(id, { kind: 'email', address: email });
    // One week each, the first of them last week: somebody is on call from the first minute on.
    const firstMs = monday.getTime() + (i - 1) * 7 * DAY_MS;
    await store.rota.add({
      personId: id,
      start: `${new Date(firstMs).toISOString().slice(0, 10)}T09:00`,
      durationMinutes: 7 * 24 * 60,
      timeZone: TIME_ZONE,
      recurrence: `FREQ=WEEKLY;INTERVAL=${PEOPLE.length}`,
    });
  }
}
