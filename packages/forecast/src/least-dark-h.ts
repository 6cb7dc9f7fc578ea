/** Hours dark of a walk below which they are rounding: the stretches of a step need not sum up to its length to the last bit. */
export const LEAST_DARK_H = 1 / 3600;
