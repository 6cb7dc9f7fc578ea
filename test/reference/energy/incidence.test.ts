import { diffuseModifiers, incidenceCosine, incidenceModifier } from '@duskline/energy';
import { describe, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface IncidenceCase {
  readonly zenithDeg: number;
  readonly azimuthDeg: number;
  readonly tiltDeg: number;
  readonly surfaceAzimuthDeg: number;
  readonly incidenceDeg: number;
  readonly modifier: number;
}

const ANGLE_TOLERANCE_DEG = 0.001;
const MODIFIER_TOLERANCE = 1e-4;
const BOOK_TOLERANCE_DEG = 0.3; // the textbook rounds the declination

const toDeg = (cosine: number): number => (Math.acos(cosine) * 180) / Math.PI;

// Source: pvlib-python, see incidence.json. Primary: De Soto, Klein & Beckman 2006.
describe('light falling on glass', () => {
  const cases = readCases<IncidenceCase>('incidence', 60);

  it('has the reference’s angle of incidence', () => {
    expectAllWithin(
      cases,
      (row) =>
        toDeg(
          incidenceCosine({
            sunZenithDeg: row.zenithDeg,
            sunAzimuthDeg: row.azimuthDeg,
            tiltDeg: row.tiltDeg,
            azimuthDeg: row.surfaceAzimuthDeg,
          }),
        ) - row.incidenceDeg,
      { tolerance: ANGLE_TOLERANCE_DEG, count: 60 },
    );
  });

  it('has the reference’s share let through', () => {
    expectAllWithin(cases, (row) => incidenceModifier(row.incidenceDeg) - row.modifier, {
      tolerance: MODIFIER_TOLERANCE,
      count: 60,
    });
  });

  // Source: Duffie & Beckman examples 1.6.1 to 1.6.3 (answers from memory), zenith and azimuth by their eq. 1.6.5 and 1.6.6.
  it('matches the worked examples of the textbook', () => {
    const examples = [
      // 43 N, 13 February 10:30 solar time, slope 45° turned 15° west: 35.0°
      { declinationDeg: -14, hourAngleDeg: -22.5, tiltDeg: 45, azimuthDeg: 195, thetaDeg: 35.0 },
      // 43 N, 13 February 9:30, level: the zenith angle, 66.5°
      { declinationDeg: -14, hourAngleDeg: -37.5, tiltDeg: 0, azimuthDeg: 180, thetaDeg: 66.5 },
      // 43 N, 1 July 18:30, level: the zenith angle, 79.6°
      { declinationDeg: 23.1, hourAngleDeg: 97.5, tiltDeg: 0, azimuthDeg: 180, thetaDeg: 79.6 },
      // 43 N, 16 March 16:00, level: the zenith angle, 70.3°
      { declinationDeg: -2.4, hourAngleDeg: 60, tiltDeg: 0, azimuthDeg: 180, thetaDeg: 70.3 },
    ];
    expectAllWithin(
      examples,
      (example) =>
        toDeg(incidenceCosine({ ...sunAt43North(example), ...example })) - example.thetaDeg,
      { tolerance: BOOK_TOLERANCE_DEG, count: 4 },
    );
  });
});

function sunAt43North(at: { readonly declinationDeg: number; readonly hourAngleDeg: number }): {
  readonly sunZenithDeg: number;
  readonly sunAzimuthDeg: number;
} {
  const [latitude, declination, hourAngle] = [43, at.declinationDeg, at.hourAngleDeg].map(
    (angleDeg) => (angleDeg * Math.PI) / 180,
  ) as [number, number, number];
  const cosZenith =
    Math.cos(latitude) * Math.cos(declination) * Math.cos(hourAngle) +
    Math.sin(latitude) * Math.sin(declination);
  const fromSouth =
    Math.sign(hourAngle) *
    Math.acos(
      (cosZenith * Math.sin(latitude) - Math.sin(declination)) /
        (Math.sin(Math.acos(cosZenith)) * Math.cos(latitude)),
    );
  return { sunZenithDeg: toDeg(cosZenith), sunAzimuthDeg: 180 + (fromSouth * 180) / Math.PI };
}

// Source: Marion 2017 by pvlib-python, see diffuse-modifiers.json; and the integral itself, done here by brute force over the
// published beam modifiers of De Soto et al. 2006.
describe('diffuse light through glass', () => {
  const published = readCases<{ tiltDeg: number; sky: number; ground: number }>(
    'diffuse-modifiers',
    6,
  );

  it('is the published constant at six tilts', () => {
    expectAllWithin(
      published,
      (row) => {
        const ours = diffuseModifiers(row.tiltDeg);
        return Math.max(Math.abs(ours.sky - row.sky), Math.abs(ours.ground - row.ground));
      },
      { tolerance: 1e-5, count: 6 },
    );
  });

  it('is the share of an even sky between those tilts too', () => {
    expectAllWithin(
      [5, 10, 20, 40, 52, 65, 75, 85],
      (tilt) => diffuseModifiers(tilt).sky - integral(tilt, 1),
      {
        tolerance: 0.003, // straight lines between six tilts; 0.3 % of the diffuse light
        count: 8,
      },
    );
  });

  it('is the share of even ground, weighed by how much ground the panel sees', () => {
    expectAllWithin(
      [5, 10, 20, 40, 52, 65, 75, 85],
      (tilt) =>
        ((diffuseModifiers(tilt).ground - integral(tilt, -1)) *
          (1 - Math.cos((tilt * Math.PI) / 180))) /
        2,
      { tolerance: 0.003, count: 8 }, // 0.3 % of the light from the ground of a level field of view
    );
  });
});

/** Mean modifier over the upper (1) or lower (−1) half space seen by a tilted panel, weighed by the cosine of incidence. */
function integral(tiltDeg: number, half: 1 | -1): number {
  const steps = 300;
  let passed = 0;
  let all = 0;
  for (let i = 0; i < steps; i += 1) {
    const zenith = ((i + 0.5) / steps) * (Math.PI / 2);
    for (let j = 0; j < steps; j += 1) {
      const azimuth = ((j + 0.5) / steps) * 2 * Math.PI;
      const tilt = (tiltDeg * Math.PI) / 180;
      const cosine =
        half * Math.cos(zenith) * Math.cos(tilt) +
        Math.sin(zenith) * Math.sin(tilt) * Math.cos(azimuth);
      if (cosine <= 0) continue;
      const weight = cosine * Math.sin(zenith);
      all += weight;
      passed += weight * incidenceModifier(toDeg(cosine));
    }
  }
  return passed / all;
}
