const path = {
  type: 'string',
  pattern: '^((?=[^./~])(?!file:)((?!\\/\\.\\.\\/)(?!\\\\)(?!:\\/\\/).)*|(http|ftp)s?:\\/\\/.*)$',
};
const text = { type: 'string' };
const names = { oneOf: [text, { type: 'array', minItems: 1, items: text, uniqueItems: true }] };

/**
 * The profile of a Data Package, condensed: only the keywords that decide, written off by hand.
 *
 * @source package and resource: JSON Schema of Data Package v2.0, github frictionlessdata/datapackage
 *   profiles/target/2.0/datapackage.json @015ab8c9867b8d21248a7ace0fefb3a8c192db10 (required, oneOf, types, patterns);
 *   the schema of a table, which that file repeats within: by the text of the Table Schema v2.0 specification
 *   (field types, constraints, categories, missingValues, primaryKey, foreignKeys), from memory
 */
export const dataPackageProfile = {
  $schema: 'http://json-schema.org/draft-07/schema#',
  type: 'object',
  required: ['resources'],
  properties: {
    $schema: { const: 'https://datapackage.org/profiles/2.0/datapackage.json' },
    name: text,
    title: text,
    description: text,
    version: text,
    created: { type: 'string', format: 'date-time' },
    contributors: {
      type: 'array',
      minItems: 1,
      items: {
        minProperties: 1,
        properties: {
          title: text,
          path,
          email: { type: 'string', format: 'email' },
          roles: { type: 'array', minItems: 1, items: text },
        },
      },
    },
    licenses: {
      type: 'array',
      minItems: 1,
      items: {
        type: 'object',
        anyOf: [{ required: ['name'] }, { required: ['path'] }],
        properties: { name: { type: 'string', pattern: '^([-a-zA-Z0-9._])+$' }, path, title: text },
      },
    },
    resources: {
      type: 'array',
      minItems: 1,
      items: {
        type: 'object',
        oneOf: [{ required: ['name', 'data'] }, { required: ['name', 'path'] }],
        properties: {
          name: text,
          path: { oneOf: [path, { type: 'array', minItems: 1, items: path }] },
          type: { enum: ['table'] },
          title: text,
          description: text,
          format: text,
          mediatype: { type: 'string', pattern: '^(.+)/(.+)$' },
          encoding: text,
          bytes: { type: 'integer' },
          hash: { type: 'string', pattern: '^([^:]+:[a-fA-F0-9]+|[a-fA-F0-9]{32}|)$' },
          dialect: {
            type: 'object',
            properties: {
              delimiter: text,
              lineTerminator: text,
              quoteChar: { type: 'string', minLength: 1, maxLength: 1 },
              doubleQuote: { type: 'boolean' },
              header: { type: 'boolean' },
            },
          },
          schema: {
            type: 'object',
            required: ['fields'],
            properties: {
              fields: {
                type: 'array',
                minItems: 1,
                items: {
                  type: 'object',
                  required: ['name'],
                  properties: {
                    name: text,
                    type: { enum: ['string', 'number', 'integer', 'datetime', 'boolean'] },
                    title: text,
                    description: text,
                    constraints: {
                      type: 'object',
                      additionalProperties: false,
                      properties: {
                        required: { type: 'boolean' },
                        unique: { type: 'boolean' },
                        enum: { type: 'array', minItems: 1, uniqueItems: true },
                      },
                    },
                    categories: {
                      type: 'array',
                      minItems: 1,
                      items: {
                        type: 'object',
                        required: ['value'],
                        properties: { value: { type: 'integer' }, label: text },
                      },
                    },
                  },
                },
              },
              missingValues: { type: 'array', items: text },
              primaryKey: names,
              foreignKeys: {
                type: 'array',
                minItems: 1,
                items: {
                  type: 'object',
                  required: ['fields', 'reference'],
                  properties: {
                    fields: names,
                    reference: {
                      type: 'object',
                      required: ['fields'],
                      properties: { resource: text, fields: names },
                    },
                  },
                },
              },
            },
          },
        },
      },
    },
  },
} as const;
