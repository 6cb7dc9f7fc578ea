// Loaded before the server (node --import): its clock is wrong by DUSKLINE_FAULT_CLOCK_FILE's milliseconds, read anew each second.
import { readFileSync } from 'node:fs';

const real = Date.now.bind(Date);
const file = process.env['DUSKLINE_FAULT_CLOCK_FILE'];
let [shiftMs, readAtMs] = [0, 0];
function shift() {
  if (real() - readAtMs > 1000) {
    readAtMs = real();
    try {
      shiftMs = Number(readFileSync(file ?? '', 'utf8'));
    } catch {
      shiftMs = 0;
    }
  }
  return shiftMs;
}
const RealDate = Date;
globalThis.Date = class extends RealDate {
  constructor(...args) {
    if (args.length === 0) super(real() + shift());
    else super(...args);
  }
  static now() {
    return real() + shift();
  }
};
