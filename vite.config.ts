import preact from "@preact/preset-vite";
import { defineConfig } from "vite";

/** Builds the map client into dist/client; the service serves it from there. */
export default defineConfig({
  root: "client",
  plugins: [preact()],
  worker: { format: "es" },
  build: {
    outDir: "../dist/client",
    emptyOutDir: true,
    target: "es2022",
    chunkSizeWarningLimit: 1500,
    assetsInlineLimit: 0,
    rollupOptions: {
      output: {
        manualChunks: (id: string) => (/node_modules\/(maplibre-gl|@maplibre)\//.test(id) ? "map-library" : undefined),
      },
    },
  },
});
