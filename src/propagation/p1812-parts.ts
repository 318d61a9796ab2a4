/** Names of the result slots, in order; the Recommendation's own symbols. */
export const P1812_PARTS = [
  "Lb",
  "Lbc",
  "Lbfs",
  "Lb0p",
  "Lb0beta",
  "Ld50",
  "Ldbeta",
  "Ldp",
  "Lbd50",
  "Lbd",
  "Lminb0p",
  "Lba",
  "Lminbap",
  "Lbda",
  "Lbam",
  "Lbs",
  "Lbulla_50",
  "Lbulls_50",
  "Ldsph_50",
  "Lbulla_beta",
  "Lbulls_beta",
  "Ldsph_beta",
  "Fi",
  "Fj",
  "Fk",
  "d",
  "dlt",
  "dlr",
  "theta_t",
  "theta_r",
  "theta",
  "hts",
  "hrs",
  "omega",
  "dtm",
  "dlm",
  "phi_path",
  "b0",
  "ae",
  "hst_uncorrected",
  "hsr_uncorrected",
  "hst",
  "hsr",
  "hstd",
  "hsrd",
  "htep",
  "hrep",
  "hte",
  "hre",
  "hm",
  "Ep_1kW",
] as const;
export type P1812Part = (typeof P1812_PARTS)[number];
export const P1812_SLOTS = P1812_PARTS.length;

/** Everything but the profile. Make one and change its fields: the kernel only reads it. */
export interface P1812Link {
  fGHz: number;
  /** Antenna heights above ground, m. */
  htg: number;
  hrg: number;
  /** 1 vertical, 0 horizontal. */
  vertical: number;
  /** Time percentage, 1…50. */
  p: number;
  /** Added to Lbc for location variability, dB (−I(pL)·σ). */
  locationDb: number;
  /** Refractivity gradient (N-units/km, positive) and sea-level refractivity. */
  deltaN: number;
  n0: number;
  /** Distance of each end over land to the coast, km; 0 at sea. */
  dct: number;
  dcr: number;
  latitudeDeg: number;
  omega: number;
  dtm: number;
  dlm: number;
  /** Compute the pass with the Earth radius of β0 % time even where p = 50 does not need it. */
  bothPasses: boolean;
}
