import { describe, expect, it } from 'vitest';
import { EventWithoutPolicyError, guardEvents } from './event-policy.ts';

describe('the policy of events', () => {
  it('refuses to register an event that nobody declared', () => {
    expect(() => guardEvents({ 'empty-the-store': () => undefined })).toThrow(
      EventWithoutPolicyError,
    );
  });

  it('is not fooled by names that every object has', () => {
    expect(() => guardEvents({ constructor: () => undefined })).toThrow(EventWithoutPolicyError);
  });

  it('hands out each declared event with what it asks for', () => {
    const handlers = guardEvents({ 'watch-fleet': () => undefined });
    expect([...handlers].map(([event, { allow }]) => [event, allow])).toEqual([
      ['watch-fleet', 'read'],
    ]);
  });
});
