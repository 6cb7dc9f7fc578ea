import { describe, expect, it } from 'vitest';
import { compareWithNeighbours, type PlacedMean } from './compare-with-neighbours.ts';

const place = (nodeId: number, value: number, more: Partial<PlacedMean> = {}): PlacedMean => ({
  nodeId,
  latitudeDeg: 54.9 + nodeId / 1000,
  longitudeDeg: -2.9,
  elevationM: 400,
  value,
  ...more,
});
const limits = () => ({ suspect: 8 });

describe('comparing with neighbours', () => {
  it('finds the one that lies off the median of the others, by how much, and leaves the others alone', () => {
    // The others of node 1 read 4, 5, 6 and 7: their median is 5.5, and 14 lies 8.5 from it. Node 5 reads 7: the others
    // read 14, 4, 5 and 6, whose median is 5.5 as well.
    const means = [place(1, 14), place(2, 4), place(3, 5), place(4, 6), place(5, 7)];
    expect(compareWithNeighbours(means, limits)).toEqual([
      { nodeId: 1, flag: 3, distance: 8.5, limit: 8, neighbours: 4 },
    ]);
  });

  it('says nothing where there are fewer than three, too far away or too high above', () => {
    const three = [place(2, 4), place(3, 5), place(4, 6)];
    expect(compareWithNeighbours([place(1, 30), ...three.slice(1)], limits)).toEqual([]);
    // A degree of latitude is 111 km everywhere, of longitude at 54.9° 64 km.
    const away = { longitudeDeg: -2.9 + 0.9 };
    expect(compareWithNeighbours([place(1, 30, away), ...three], limits)).toEqual([]);
    const within = { longitudeDeg: -2.9 + 0.7 };
    expect(compareWithNeighbours([place(1, 30, within), ...three], limits)).toHaveLength(1);
    expect(compareWithNeighbours([place(1, 30, { elevationM: 701 }), ...three], limits)).toEqual(
      [],
    );
  });

  it('is off where a node has no limit for it', () => {
    const means = [place(1, 30), place(2, 4), place(3, 5), place(4, 6)];
    expect(compareWithNeighbours(means, (node) => (node === 1 ? undefined : limits()))).toEqual([]);
  });
});
