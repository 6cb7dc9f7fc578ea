import { createHash, randomBytes } from 'node:crypto';

const SECRET_BYTES = 32;

/** 256 random bits as 43 characters of base64url. */
export const newSecretText = (): string => randomBytes(SECRET_BYTES).toString('base64url');

/** What is kept of it. 256 random bits need no slow hash (OWASP ASVS 5.0, 11.4.2 asks for one where people choose). */
export const hashSecretText = (text: string): Uint8Array =>
  createHash('sha256').update(text).digest();
