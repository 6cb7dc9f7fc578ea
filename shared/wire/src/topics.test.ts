import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseNodeName, type NodeName } from '@duskline/domain';
import { parseTopic, topicFor } from './topics.ts';

const rushy = parseNodeName('rushy-sluice') as NodeName;

describe('topics', () => {
  it.each(['live', 'backlog', 'state'] as const)('reads what it writes for %s', (kind) => {
    expect(parseTopic(topicFor(rushy, kind))).toEqual({ node: 'rushy-sluice', kind });
  });

  it('tells a node by the topics down', () => {
    expect(topicFor(rushy, 'ack')).toBe('v1/rushy-sluice/down/ack');
    expect(topicFor(rushy, 'settings')).toBe('v1/rushy-sluice/down/settings');
    expect(parseTopic('v1/rushy-sluice/down/ack')).toBeUndefined();
  });

  it.each([
    '',
    'v1/rushy-sluice/up',
    'v1/rushy-sluice/up/live/more',
    'v2/rushy-sluice/up/live',
    'v1/Rushy/up/live',
    'v1/ab/up/live',
    `v1/${'a'.repeat(41)}/up/live`,
    'v1//up/live',
    'v1/+/up/live',
    '/v1/rushy-sluice/up/live',
    'v1/rushy-sluice/up/live/',
    Array.from({ length: 200 }, () => 'v1').join('/'),
  ])('does not take %j for one of ours', (topic) => {
    expect(parseTopic(topic)).toBeUndefined();
  });

  it('never throws', () => {
    fc.assert(fc.property(fc.string(), (topic) => parseTopic(topic) === undefined));
  });
});
