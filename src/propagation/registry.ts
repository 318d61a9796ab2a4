import { p1812Case } from "./cases/p1812.ts";
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
    id: "p1812",
    title: "Point-to-area loss for a share of time and locations",
    edition: "ITU-R P.1812-6 (published results of -8 are the same)",
    source: "Recommendation ITU-R P.1812-6 §3, §4, attachments 1, 2",
    validity: {
      frequencyMHz: [30, 6000],
      distanceKm: [0.25, 3000],
      heightM: [1, 3000],
      text: "time 1–50 %, locations 1–99 %",
    },
    verified: "published validation results of the Recommendation's reference software, every intermediate",
    tolerance: "1e-6 dB",
    evaluate: p1812Case,
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
