import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts"],
    exclude: ["tests/bench/**", "tests/soak/**", "node_modules/**"],
    maxWorkers: 2,
    testTimeout: 120_000,
    hookTimeout: 120_000,
    reporters: ["default", ["json", { outputFile: "dist/test-report.json" }]],
  },
});
