import { describe, expect, it } from 'vitest';
import { handshakeFault } from './handshake.ts';

const host = 'duskline.example:8080';

describe('a handshake', () => {
  // Which Origin a browser sends: RFC 6454 §7; that a server must check it: RFC 6455 §10.2.
  it.each([
    ['our own page', { host, origin: 'http://duskline.example:8080' }],
    ['our own page by https', { host, origin: 'https://duskline.example:8080' }],
    ['a page that was allowed by name', { host, origin: 'http://localhost:5173' }],
    ['a program with a token', { host, authorization: 'Bearer dl_r_x' }],
  ])('goes on for %s', (_who, headers) => {
    expect(handshakeFault(headers, ['http://localhost:5173'])).toBeUndefined();
  });

  it.each([
    ['another site', { host, origin: 'https://elsewhere.example' }],
    ['another port of the same host', { host, origin: 'http://duskline.example:9090' }],
    ['a neighbour under the same domain', { host, origin: 'http://x.duskline.example:8080' }],
    ['a page without an origin', { host, origin: 'null' }],
    ['a page whose host name only begins like ours', { host, origin: `http://${host}.example` }],
    ['a program with nothing but a cookie', { host, cookie: 'duskline=abc' }],
    [
      'another site that brings a token',
      { host, origin: 'http://e.example', authorization: 'Bearer t' },
    ],
    ['a request without a host', { origin: 'http://undefined' }],
  ])('is refused for %s', (_who, headers) => {
    expect(handshakeFault(headers, [])).toEqual(expect.any(String));
  });
});
