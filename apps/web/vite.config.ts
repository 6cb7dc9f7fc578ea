import { sveltekit } from '@sveltejs/kit/vite';
import { defineConfig } from 'vite';

export default defineConfig({
  plugins: [sveltekit()],
  build: {
    // Nothing as a data: address: the content security policy allows files of our own only.
    assetsInlineLimit: 0,
  },
  server: {
    host: '127.0.0.1',
    proxy: {
      '/api': 'http://127.0.0.1:8480',
      '/socket.io': { target: 'http://127.0.0.1:8480', ws: true },
    },
  },
});
