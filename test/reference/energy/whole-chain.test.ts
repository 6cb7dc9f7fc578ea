import { HOUR_MS } from '@duskline/domain';
import { clearSkyPanelW } from '@duskline/energy';
import { Body, Equator, Horizon, MakeTime, Observer } from 'astronomy-engine';
import { describe, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

/**
 * The links of the chain have references of their own; this holds their wiring. A second writing of the whole chain from the
 * published equations, with vectors for angles, the ephemeris of astronomy-engine 2.1.19 (MIT) for the sun, and the diffuse
 * constants of Marion 2017 from the copied table. Nothing of our package is used in it.
 */
const WIRING_TOLERANCE = 0.005; // two suns 0.014° apart near the horizon; of the panel's rated power

const panel = { ratedW: 20, tiltDeg: 60, azimuthDeg: 200 };
const places = [
  { latitudeDeg: 54.3, longitudeDeg: -2.2, elevationM: 300 },
  { latitudeDeg: -33.9, longitudeDeg: 18.4, elevationM: 20 },
  { latitudeDeg: 69.7, longitudeDeg: 19, elevationM: 10 },
  { latitudeDeg: -0.2, longitudeDeg: -78.5, elevationM: 2850 },
];
const cases = places.flatMap((position) =>
  Array.from({ length: 60 }, (_, index) => ({
    position,
    atMs: Date.UTC(2026, 0, 3) + index * 145.7 * HOUR_MS,
  })),
);

type Vector = readonly [east: number, north: number, up: number];
const radians = (angleDeg: number): number => (angleDeg * Math.PI) / 180;
const vectorOf = (zenithDeg: number, azimuthDeg: number): Vector => [
  Math.sin(radians(zenithDeg)) * Math.sin(radians(azimuthDeg)),
  Math.sin(radians(zenithDeg)) * Math.cos(radians(azimuthDeg)),
  Math.cos(radians(zenithDeg)),
];
const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

/** Fresnel by angles (De Soto et al. 2006), n = 1.526, 4 /m, 2 mm. */
function throughGlass(incidence: number): number {
  if (incidence >= Math.PI / 2) return 0;
  const pass = (angle: number): number => {
    const inside = Math.asin(Math.sin(angle) / 1.526);
    const [difference, total] = [inside - angle, inside + angle];
    const reflected =
      ((Math.sin(difference) / Math.sin(total)) ** 2 +
        (Math.tan(difference) / Math.tan(total)) ** 2) /
      2;
    return (1 - reflected) * Math.exp(-0.008 / Math.cos(inside));
  };
  return pass(incidence) / pass(1e-6);
}

function secondWriting({ position, atMs }: (typeof cases)[number]): number {
  const time = MakeTime(new Date(atMs));
  const observer = new Observer(position.latitudeDeg, position.longitudeDeg, 0);
  const place = Equator(Body.Sun, time, observer, true, true);
  const trueSun = Horizon(time, observer, place.ra, place.dec);
  const pressurePa = 101_325 * (1 - 2.25577e-5 * position.elevationM) ** 5.25588;
  const e = trueSun.altitude;
  if (e < -0.8333) return 0;
  const apparent =
    e +
    ((pressurePa / 101_000) * (283 / 288) * 1.02) / (60 * Math.tan(radians(e + 10.3 / (e + 5.11))));
  if (apparent <= 0) return 0;

  const sun = vectorOf(90 - apparent, trueSun.azimuth);
  const face = vectorOf(panel.tiltDeg, panel.azimuthDeg);
  // Spencer 1971
  const b = (2 * Math.PI * Math.floor((atMs - Date.UTC(2026, 0, 1)) / 86_400_000)) / 365;
  const above =
    1361.1 *
    (1.00011 +
      0.034221 * Math.cos(b) +
      0.00128 * Math.sin(b) +
      0.000719 * Math.cos(2 * b) +
      0.000077 * Math.sin(2 * b));
  // Ineichen & Perez 2002 with Kasten & Young 1989, turbidity 3
  const h = position.elevationM;
  const airMass =
    ((1 / (sun[2] + 0.50572 * (apparent + 6.07995) ** -1.6364)) * pressurePa) / 101_325;
  const [f1, f2] = [Math.exp(-h / 8000), Math.exp(-h / 1250)];
  const ghi =
    (5.09e-5 * h + 0.868) *
    above *
    sun[2] *
    Math.exp(-(3.92e-5 * h + 0.0387) * airMass * (f1 + f2 * 2));
  const dni = Math.min(
    above * (0.664 + 0.163 / f1) * Math.exp(-0.09 * airMass * 2),
    (ghi * (1 - (0.1 - 0.2 * Math.exp(-3)) / (0.1 + 0.882 / f1))) / sun[2],
  );
  const dhi = ghi - dni * sun[2];
  // Hay & Davies 1980; ground of 0.2
  const towards = Math.max(0, dot(sun, face));
  const aroundSun = dni / above;
  const near = dni * towards + (dhi * aroundSun * towards) / Math.max(sun[2], 0.01745);
  const even = (dhi * (1 - aroundSun) * (1 + face[2])) / 2;
  const ground = (ghi * 0.2 * (1 - face[2])) / 2;
  // Marion 2017 at 60°; Faiman 2008 at 1.5 m/s and 15 °C; PVWatts with −0.004 /K; 0.85 of losses
  const marion = readCases<{ tiltDeg: number; sky: number; ground: number }>(
    'diffuse-modifiers',
    6,
  );
  const share = marion.find((row) => row.tiltDeg === panel.tiltDeg)!;
  const cells = near * throughGlass(Math.acos(towards)) + even * share.sky + ground * share.ground;
  const cellC = 15 + (near + even + ground) / (25 + 6.84 * 1.5);
  return 0.85 * panel.ratedW * (cells / 1000) * (1 - 0.004 * (cellC - 25));
}

describe('the whole chain from an instant to watts', () => {
  it('agrees with a second writing of it over a year at four places', () => {
    expectAllWithin(
      cases,
      (row) => (clearSkyPanelW({ ...row, panel }) - secondWriting(row)) / panel.ratedW,
      { tolerance: WIRING_TOLERANCE, count: 240 },
    );
  });

  it('is compared by day as well as by night', () => {
    const lit = cases.filter((row) => secondWriting(row) > 0);
    expectAllWithin(
      lit.filter((row) => secondWriting(row) > 0.1 * panel.ratedW),
      (row) => clearSkyPanelW({ ...row, panel }) / secondWriting(row) - 1,
      { tolerance: WIRING_TOLERANCE, count: 67 },
    );
  });
});
