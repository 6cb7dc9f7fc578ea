import js from '@eslint/js';
import svelte from 'eslint-plugin-svelte';
import globals from 'globals';
import { fileURLToPath } from 'node:url';
import ts from 'typescript-eslint';

const root = fileURLToPath(new URL('../../', import.meta.url));

const pureFolders = [
  'shared/domain',
  'shared/wire',
  'packages/energy',
  'packages/forecast',
  'packages/diagnosis',
  'packages/alerts',
  'packages/quality',
];

export default ts.config(
  {
    ignores: [
      '**/node_modules/**',
      '**/dist/**',
      '**/build/**',
      '**/.svelte-kit/**',
      '**/*.d.ts',
      'coverage/**',
      'data/**',
    ],
  },
  js.configs.recommended,
  ...ts.configs.recommendedTypeChecked,
  ...svelte.configs.recommended,
  {
    languageOptions: {
      globals: { ...globals.node },
      parserOptions: {
        projectService: { allowDefaultProject: ['packages/tooling/*.js', 'packages/tooling/*.ts'] },
        tsconfigRootDir: root,
        extraFileExtensions: ['.svelte'],
      },
    },
    rules: {
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/switch-exhaustiveness-check': [
        'error',
        { considerDefaultExhaustiveForUnions: true },
      ],
      '@typescript-eslint/consistent-type-imports': 'error',
      '@typescript-eslint/no-unused-vars': [
        'error',
        { argsIgnorePattern: '^_', varsIgnorePattern: '^_', ignoreRestSiblings: true },
      ],
      '@typescript-eslint/restrict-template-expressions': ['error', { allowNumber: true }],
      '@typescript-eslint/require-await': 'off',
      'max-lines': ['error', { max: 400, skipComments: false }],
      'no-restricted-syntax': [
        'error',
        {
          selector: "MemberExpression[property.name='unsafe'][object.name=/^(sql|trx)$/]",
          message: 'sql.unsafe takes text as SQL; bind the value instead.',
        },
      ],
    },
  },
  {
    files: pureFolders.map((folder) => `${folder}/src/**/*.ts`),
    ignores: ['**/*.test.ts'],
    rules: {
      'no-restricted-globals': [
        'error',
        { name: 'process', message: 'A pure package reads no environment.' },
        { name: 'setTimeout', message: 'A pure package has no clock.' },
        { name: 'setInterval', message: 'A pure package has no clock.' },
        { name: 'console', message: 'A pure package does not log.' },
      ],
      'no-restricted-properties': [
        'error',
        { object: 'Date', property: 'now', message: 'Time is an argument.' },
        { object: 'Math', property: 'random', message: 'Seeds are arguments.' },
      ],
      'no-restricted-imports': ['error', { patterns: ['node:*'] }],
    },
  },
  {
    files: ['apps/web/**'],
    languageOptions: { globals: { ...globals.browser } },
  },
  {
    files: ['apps/web/src/**'],
    ignores: ['apps/web/src/lib/live/ask-again.ts'],
    rules: {
      'no-restricted-imports': [
        'error',
        {
          paths: [
            {
              name: '$app/navigation',
              importNames: ['invalidate'],
              message: 'It drops a click whose page is still fetched: use askAgain.',
            },
          ],
        },
      ],
    },
  },
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: ts.parser } },
    rules: { 'svelte/no-at-html-tags': 'error', 'svelte/no-navigation-without-resolve': 'off' },
  },
  {
    files: ['**/*.test.ts', 'test/**'],
    rules: {
      '@typescript-eslint/no-unsafe-assignment': 'off',
      '@typescript-eslint/no-unsafe-member-access': 'off',
      '@typescript-eslint/no-unsafe-argument': 'off',
      '@typescript-eslint/no-unsafe-call': 'off',
      '@typescript-eslint/no-unsafe-return': 'off',
    },
  },
  {
    files: ['**/*.js', '**/*.mjs', 'packages/tooling/**', 'apps/web/*.ts'],
    ...ts.configs.disableTypeChecked,
  },
);
