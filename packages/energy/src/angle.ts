/** Angles are degrees everywhere in this package; radians exist only inside these functions. */
export const RADIANS_PER_DEGREE = Math.PI / 180;

export const sinDeg = (angleDeg: number): number => Math.sin(angleDeg * RADIANS_PER_DEGREE);
export const cosDeg = (angleDeg: number): number => Math.cos(angleDeg * RADIANS_PER_DEGREE);
export const tanDeg = (angleDeg: number): number => Math.tan(angleDeg * RADIANS_PER_DEGREE);

/** Arc cosine in degrees; a cosine pushed past ±1 by rounding is taken as ±1. */
export const acosDeg = (cosine: number): number =>
  Math.acos(Math.min(1, Math.max(-1, cosine))) / RADIANS_PER_DEGREE;
