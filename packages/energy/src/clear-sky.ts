import { cosDeg } from './angle.ts';
import { pressurePa, SEA_LEVEL_PRESSURE_PA } from './pressure.ts';
import { relativeAirMass } from './relative-air-mass.ts';

/** Irradiance split the usual way. */
export interface Irradiance {
  /** On a level surface, from the whole sky. */
  readonly ghiWm2: number;
  /** From the sun's disc, on a surface facing it. */
  readonly dniWm2: number;
  /** On a level surface, from the sky without the disc. */
  readonly dhiWm2: number;
}

/** All-year turbidity of a site that knows no better: clean mid-latitude countryside. [M] ESRA gives 2 (cold, clean) to 6 (humid, dusty). */
export const DEFAULT_LINKE_TURBIDITY = 3;

const DARK: Irradiance = { ghiWm2: 0, dniWm2: 0, dhiWm2: 0 };

/**
 * Irradiance under a cloudless sky, by the model of Ineichen and Perez.
 *
 * @param inputs.apparentZenithDeg    zenith angle after refraction, 0 … 180
 * @param inputs.elevationM           metres above sea level, 0 … 5000
 * @param inputs.linkeTurbidity       1.5 … 8; see DEFAULT_LINKE_TURBIDITY
 * @param inputs.extraterrestrialWm2  normal irradiance above the air, W/m²
 * @returns W/m²; all zero at and below the horizon
 * @accuracy 0.01 W/m² against the same equations, test/reference/energy/clear-sky.test.ts; 3.9 % RMSE against 613 measured
 *           clear hours at one northern site with turbidity 2.5
 * @source Ineichen & Perez 2002, Solar Energy 73:151 (form carried in pvlib-python, BSD-3, without the Perez enhancement)
 */
export function clearSky(inputs: {
  readonly apparentZenithDeg: number;
  readonly elevationM: number;
  readonly linkeTurbidity: number;
  readonly extraterrestrialWm2: number;
}): Irradiance {
  return clearSkyOver(inputs.elevationM)(inputs);
}

/** As `clearSky`, made once for a place and asked for many instants: what hangs on its height alone is worked out once. */
export function clearSkyOver(
  elevationM: number,
): (inputs: {
  readonly apparentZenithDeg: number;
  readonly linkeTurbidity: number;
  readonly extraterrestrialWm2: number;
}) => Irradiance {
  const airPressurePa = pressurePa(elevationM);
  const fh1 = Math.exp(-elevationM / 8000);
  const fh2 = Math.exp(-elevationM / 1250);
  const cg1 = 5.09e-5 * elevationM + 0.868;
  const cg2 = 3.92e-5 * elevationM + 0.0387;
  const b = 0.664 + 0.163 / fh1;

  return ({ apparentZenithDeg, linkeTurbidity, extraterrestrialWm2 }) => {
    const cosZenith = cosDeg(apparentZenithDeg);
    if (apparentZenithDeg >= 90 || cosZenith <= 0) return DARK;

    const airMass = (relativeAirMass(apparentZenithDeg) * airPressurePa) / SEA_LEVEL_PRESSURE_PA;
    const ghiWm2 =
      cg1 *
      extraterrestrialWm2 *
      cosZenith *
      Math.exp(-cg2 * airMass * (fh1 + fh2 * (linkeTurbidity - 1)));
    const clearBeamWm2 = extraterrestrialWm2 * b * Math.exp(-0.09 * airMass * (linkeTurbidity - 1));
    const beamShare = 1 - (0.1 - 0.2 * Math.exp(-linkeTurbidity)) / (0.1 + 0.882 / fh1);
    const dniWm2 = Math.min(clearBeamWm2, (ghiWm2 * Math.max(beamShare, 0)) / cosZenith);
    return { ghiWm2, dniWm2, dhiWm2: ghiWm2 - dniWm2 * cosZenith };
  };
}
