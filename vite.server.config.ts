import { defineConfig } from "vite";

/** Bundles the Node side: the command line entry, the pool worker and the raster child process. */
export default defineConfig({
  publicDir: false,
  build: {
    ssr: true,
    outDir: "dist/server",
    emptyOutDir: true,
    target: "node20",
    sourcemap: true,
    rollupOptions: {
      input: {
        main: "server/cli/main.ts",
        "pool-worker": "server/workers/pool-worker.ts",
        "decode-child": "server/raster/decode-child.ts",
      },
      output: { entryFileNames: "[name].mjs", chunkFileNames: "chunk-[name]-[hash].mjs" },
    },
  },
});
