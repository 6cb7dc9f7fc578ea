/** A caller handed over what no correct caller would: the work was refused before the database saw it. */
export class StoreInputError extends Error {
  readonly code = 'store-input';

  constructor(message: string) {
    super(message);
    this.name = 'StoreInputError';
  }
}

/** What was to be created exists already, or belongs to something that does not exist. */
export class StoreConflictError extends Error {
  readonly code = 'store-conflict';

  constructor(message: string, options?: ErrorOptions) {
    super(message, options);
    this.name = 'StoreConflictError';
  }
}

/** The database could not be brought to the schema of this program. */
export class MigrationError extends Error {
  readonly code = 'store-migration';

  constructor(message: string, options?: ErrorOptions) {
    super(message, options);
    this.name = 'MigrationError';
  }
}
