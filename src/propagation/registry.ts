import { knifeEdgeCase, p525Case, p526Case, twoRayCase } from "./cases/simple.ts";
import type { ModelEntry } from "./types.ts";

/** Every model of the product. Rows without `evaluate` are computed by other rooms. */
export const MODELS: readonly ModelEntry[] = Object.freeze([
  {
    id: "p525",
    title: "Free-space loss",
    edition: "ITU-R P.525-4",
    source: "Recommendation ITU-R P.525-4 §2.3",
    validity: { text: "any distance beyond the near field" },
    verified: "closed form; values computed from the printed formula",
    tolerance: "1e-4 dB",
    evaluate: p525Case,
  },
  {
    id: "p526",
    title: "Diffraction over a profile (delta-Bullington)",
    edition: "ITU-R P.526-15",
    source: "Recommendation ITU-R P.526-15 §3.2, §4.5",
    validity: { frequencyMHz: [30, 50_000], text: "any profile; obstacles enter the actual-profile term only" },
    verified: "ITU-R Study Group 3 validation examples for the delta-Bullington method",
    tolerance: "Lbulla, Lbulls 1e-6 dB; Ldsph, Ld 0.01 dB",
    evaluate: p526Case,
  },
  {
    id: "knife-edge",
    title: "Single knife edge",
    edition: "ITU-R P.526-15",
    source: "Recommendation ITU-R P.526-15 §4.1",
    validity: { text: "one sharp edge, other obstacles clear" },
    verified: "Fresnel integral by quadrature; Abramowitz & Stegun (1964) table 7.7",
    tolerance: "exact form 1e-6 dB; approximation 0.13 dB of the exact form",
    evaluate: knifeEdgeCase,
  },
  {
    id: "two-ray",
    title: "Two-ray (plane earth) check",
    edition: "textbook",
    source: "textbook two-ray model with Fresnel reflection coefficients",
    validity: { text: "flat clear ground; a check, never summed with diffraction" },
    verified: "closed form: nulls, peaks and the fourth-power asymptote",
    tolerance: "0.01 dB of the asymptote far beyond the break point",
    evaluate: twoRayCase,
  },
]);
