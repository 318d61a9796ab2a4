import { expect, test } from "vitest";
import { egm96UndulationM, verticalDatumsAgree } from "../../src/terrain/datum.ts";

// NGA/NIMA EGM96 interpolation program, sample output OUTINTPT.DAT (15-minute grid): latitude, longitude, undulation m.
test.each([
  [38.628155, 269.779155, -31.628],
  [46.874319, 102.448729, -43.575],
  [38.625473, 359.9995, 50.066],
])("undulation at %d, %d", (lat, lng, undulation) => {
  expect(Math.abs(egm96UndulationM({ lng, lat }) - undulation)).toBeLessThan(0.05);
  expect(Math.abs(egm96UndulationM({ lng: lng - 360, lat }) - undulation)).toBeLessThan(0.05);
});

test("places off the Earth have none", () => {
  expect(egm96UndulationM({ lng: 0, lat: 91 })).toBeNaN();
  expect(egm96UndulationM({ lng: Number.NaN, lat: 0 })).toBeNaN();
});

test("ellipsoid heights never stand beside heights above the sea", () => {
  expect(verticalDatumsAgree("ellipsoid", "navd88")).toBe("no");
  expect(verticalDatumsAgree("egm96", "egm2008")).toBe("near");
  expect(verticalDatumsAgree("nap", "nap")).toBe("yes");
  expect(verticalDatumsAgree("unknown", "navd88")).toBe("unknown");
  expect(verticalDatumsAgree("nap", "navd88")).toBe("no");
});
