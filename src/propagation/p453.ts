export interface Refractivity {
  /** Radio refractivity and its dry and wet terms, N-units. */
  N: number;
  Ndry: number;
  Nwet: number;
  /** Water-vapour pressure, hPa. */
  e: number;
}

/**
 * Radio refractivity of air.
 * @param pressureHPa       total pressure, hPa
 * @param temperatureK      kelvin
 * @param waterVapourGPerM3 g/m³
 * Source: Rec. ITU-R P.453-14 eq. (1)–(5); vapour pressure e = ρT/216.7.
 */
export function refractivity(pressureHPa: number, temperatureK: number, waterVapourGPerM3: number): Refractivity {
  const e = (waterVapourGPerM3 * temperatureK) / 216.7;
  const Ndry = (77.6 * (pressureHPa - e)) / temperatureK;
  const Nwet = (72 * e) / temperatureK + (3.75e5 * e) / (temperatureK * temperatureK);
  return { N: Ndry + Nwet, Ndry, Nwet, e };
}

/**
 * Saturation water-vapour pressure over water, hPa.
 * @param temperatureC degrees Celsius, −40…50
 * Source: Rec. ITU-R P.453-14 §1, eq. (9), with the enhancement factor of water.
 */
export function saturationPressureHPa(temperatureC: number, pressureHPa: number): number {
  const EF = 1 + 1e-4 * (7.2 + pressureHPa * (0.032 + 5.9e-6 * temperatureC * temperatureC));
  return EF * 6.1121 * Math.exp(((18.678 - temperatureC / 234.5) * temperatureC) / (temperatureC + 257.14));
}
