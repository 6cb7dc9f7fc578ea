import { createDecipheriv, createECDH, createPublicKey, hkdfSync, verify } from 'node:crypto';

/** A browser's end of Web Push, for tests: its keys, and how it reads what the push service hands it. */
export interface PushReceiver {
  /** Of the subscription, base64url. */
  readonly keys: { readonly p256dh: string; readonly auth: string };
  /** Decrypts one message (RFC 8291 §3.4, content coding aes128gcm of RFC 8188). @throws when it is not for this receiver */
  readonly read: (body: Uint8Array) => string;
}

/** @param given private key and authentication secret, base64url; default: made anew */
export function pushReceiver(given?: { privateKey: string; auth: string }): PushReceiver {
  const ecdh = createECDH('prime256v1');
  if (given === undefined) ecdh.generateKeys();
  else ecdh.setPrivateKey(Buffer.from(given.privateKey, 'base64url'));
  const own = ecdh.getPublicKey();
  const auth = given === undefined ? own.subarray(1, 17) : Buffer.from(given.auth, 'base64url');
  return {
    keys: { p256dh: own.toString('base64url'), auth: auth.toString('base64url') },
    read(bytes) {
      const body = Buffer.from(bytes);
      // RFC 8188 §2.1: salt (16), record size (4), length of the key id (1), key id: the sender's public key.
      const salt = body.subarray(0, 16);
      const idLength = body.readUInt8(20);
      const sender = body.subarray(21, 21 + idLength);
      const record = body.subarray(21 + idLength);
      const info = Buffer.concat([Buffer.from('WebPush: info\0'), own, sender]);
      const ikm = Buffer.from(hkdfSync('sha256', ecdh.computeSecret(sender), auth, info, 32));
      const derive = (name: string, length: number) =>
        Buffer.from(hkdfSync('sha256', ikm, salt, Buffer.from(`${name}\0`), length));
      const decipher = createDecipheriv(
        'aes-128-gcm',
        derive('Content-Encoding: aes128gcm', 16),
        derive('Content-Encoding: nonce', 12),
      );
      decipher.setAuthTag(record.subarray(-16));
      const padded = Buffer.concat([decipher.update(record.subarray(0, -16)), decipher.final()]);
      // RFC 8188 §2: the last record ends with a 2, then zeros.
      return padded.subarray(0, padded.lastIndexOf(2)).toString();
    },
  };
}

export interface Claims {
  readonly aud: string;
  readonly exp: number;
  readonly sub: string;
}

/**
 * Who signed it, checked as a push service does (RFC 8292 §2, §3): an ES256 token and the key it was signed with.
 *
 * @returns its claims and the key, base64url; undefined when it is not signed by that key
 */
export function readVapid(header: string): { claims: Claims; key: string } | undefined {
  const [, token = '', key = ''] = /^vapid t=([^,]+), ?k=(.+)$/.exec(header) ?? [];
  const [head = '', claims = '', signature = ''] = token.split('.');
  const point = Buffer.from(key, 'base64url');
  const publicKey = createPublicKey({
    format: 'jwk',
    key: {
      kty: 'EC',
      crv: 'P-256',
      x: point.subarray(1, 33).toString('base64url'),
      y: point.subarray(33).toString('base64url'),
    },
  });
  const isRight = verify(
    'sha256',
    Buffer.from(`${head}.${claims}`),
    { key: publicKey, dsaEncoding: 'ieee-p1363' },
    Buffer.from(signature, 'base64url'),
  );
  if (!isRight) return undefined;
  return { claims: JSON.parse(Buffer.from(claims, 'base64url').toString()) as Claims, key };
}
