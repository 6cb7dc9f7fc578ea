const MOST_DECIMALS = 3;

/**
 * A share beside the share that was wished, with as many digits as it takes to see which is greater: "97.6 %" against 98 %.
 *
 * @param ratio   0–1
 * @param wished  0–1
 */
export function sayPercentAgainst(ratio: number, wished: number): string {
  const isEnough = ratio >= wished;
  for (let decimals = ratio > 0.99 && ratio < 1 ? 1 : 0; ; decimals += 1) {
    const shown = (100 * ratio).toFixed(decimals);
    // What is wished has few digits of its own; ten cut what its hundredfold leaves behind them.
    const told = Number(shown) >= Number((100 * wished).toFixed(10));
    if (told === isEnough || decimals === MOST_DECIMALS) return `${shown} %`;
  }
}
