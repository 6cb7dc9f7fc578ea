/** Mean radius of the earth, km (IUGG 1980: (2a + b) ÷ 3 of GRS 80). */
const EARTH_RADIUS_KM = 6371.0088;

export interface Place {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
}

const rad = (deg: number): number => (deg * Math.PI) / 180;

/**
 * Distance along the great circle, on a sphere: no road goes there straight, and the ellipsoid differs by at most 0.6 %.
 *
 * @returns km, 0 … 20,015
 * @source haversine formula (R. W. Sinnott, "Virtues of the Haversine", Sky & Telescope 68, 1984, p. 159)
 */
export function greatCircleKm(a: Place, b: Place): number {
  const dLat = rad(b.latitudeDeg - a.latitudeDeg);
  const dLon = rad(b.longitudeDeg - a.longitudeDeg);
  const h =
    Math.sin(dLat / 2) ** 2 +
    Math.cos(rad(a.latitudeDeg)) * Math.cos(rad(b.latitudeDeg)) * Math.sin(dLon / 2) ** 2;
  return 2 * EARTH_RADIUS_KM * Math.asin(Math.min(1, Math.sqrt(h)));
}
