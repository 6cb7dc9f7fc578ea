/** More ranges of one boot than this are not remembered: what comes after the gap is then asked for again. */
export const RANGES_KEPT = 256;
