import { expect, it } from 'vitest';
import { leadsTo, readPush } from './read-push.ts';

it('shows what was sent, under its key, and leads to the page of its link on this very site', () => {
  const link = 'https://duskline.example/a/abc?from=push';
  expect(readPush(JSON.stringify({ key: 'k', title: 'T', body: 'B', link }))).toEqual({
    title: 'T',
    body: 'B',
    tag: 'k',
    path: '/a/abc?from=push',
  });
  expect(leadsTo('/a/abc', 'http://hut.local:8080')).toBe('http://hut.local:8080/a/abc');
});

it.each([undefined, '', 'null', '[1]', '{"title": 7}', '{'])('shows something of %s', (text) => {
  const shown = readPush(text);
  expect(shown.path).toBe('/watch');
  expect(shown.title).not.toBe('');
  expect(shown.body).not.toBe('');
});

it('leads to no other site, whatever it is told', () => {
  for (const path of [
    '//elsewhere.example/x',
    'https://elsewhere.example',
    '\\\\elsewhere.example',
    7,
  ])
    expect(new URL(leadsTo(path, 'https://hut.example')).origin).toBe('https://hut.example');
});
