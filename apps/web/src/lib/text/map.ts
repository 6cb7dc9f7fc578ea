/** The words of the map. */
export const mapText = {
  caption: (count: number) =>
    `${count === 1 ? 'One site' : `${count} sites`}, north up. The coast line is coarse and for finding one’s way on the page, not on the moor.`,
  noOutline: 'The coast line could not be read; the places are right.',
  mark: (site: string, state: string) => `${site}: ${state}`,
  km: (km: number) => (km < 1 ? `${Math.round(km * 1000)} m` : `${km} km`),
  unnamed: 'There is no room on the map for these names:',
  loading: 'Drawing the map…',
  drawing: 'Shown as',
  asRows: 'rows',
  asMap: 'a map',
} as const;
