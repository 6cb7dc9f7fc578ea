/** Brings a database to the schema of this program. */
export async function migrateStore(url: string): Promise<void> {
  throw new Error(`under construction: ${url}`);
}
