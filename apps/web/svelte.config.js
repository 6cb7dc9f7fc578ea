import adapter from '@sveltejs/adapter-static';
import { fileURLToPath } from 'node:url';

const source = (name) =>
  fileURLToPath(new URL(`../../shared/${name}/src/index.ts`, import.meta.url));

/** The style attribute of SvelteKit's own announcer of new pages: the only one there is. */
const ANNOUNCER_STYLE = 'sha256-S8qMpvofolR8Mpjy4kQvEm7m1q8clzU4dfDH0AmvZjo=';

/** @type {import('@sveltejs/kit').Config} */
export default {
  compilerOptions: { runes: true },
  kit: {
    // One page for every address: the server answers unknown paths with it, the router in it does the rest.
    adapter: adapter({ pages: 'build', assets: 'build', fallback: 'index.html' }),
    // The sources, not their builds: a clean clone needs no other build before this one.
    alias: { '@duskline/domain': source('domain'), '@duskline/contract': source('contract') },
    csp: {
      mode: 'hash',
      directives: {
        'default-src': ['none'],
        'script-src': ['self'],
        'style-src': ['self'],
        'style-src-attr': ['unsafe-hashes', ANNOUNCER_STYLE],
        'font-src': ['self'],
        'img-src': ['self'],
        'connect-src': ['self'],
        'manifest-src': ['self'],
        'base-uri': ['none'],
        'form-action': ['self'],
      },
    },
  },
};
