import type { Plan, Unit } from "../../../src/plan/types.ts";
import { num } from "../../lib/format.ts";
import { change, plan } from "../../state/session.ts";
import { ChoiceField, NumberField } from "../../ui/fields.tsx";

const setUnit =
  (key: keyof Unit) =>
  (value: number | undefined): void =>
    change("Changed the unit", (p) => {
      const { [key]: _old, ...rest } = p.unit;
      return { ...p, unit: (value === undefined ? rest : { ...rest, [key]: value }) as Unit };
    });
const setDish =
  (key: keyof NonNullable<Unit["dish"]>) =>
  (value: number | undefined): void =>
    change("Changed the dish", (p) => {
      if (p.unit.dish === undefined) return p;
      const { [key]: _old, ...rest } = p.unit.dish;
      return {
        ...p,
        unit: {
          ...p.unit,
          dish: (value === undefined ? rest : { ...rest, [key]: value }) as NonNullable<Unit["dish"]>,
        },
      };
    });

export function UnitForm() {
  const u = plan.value?.unit;
  if (u === undefined) return null;
  return (
    <div class="form">
      <div class="form-pair">
        <NumberField
          label="Tip height"
          unit="m"
          value={u.tipHeightM}
          where="unit"
          name="tipHeightM"
          help="Above ground; fall zone and line distances grow with it."
          set={setUnit("tipHeightM")}
        />
        <NumberField
          label="Antenna height"
          unit="m"
          value={u.antennaHeightM}
          fallback={String(u.tipHeightM)}
          where="unit"
          name="antennaHeightM"
          set={setUnit("antennaHeightM")}
        />
      </div>
      <div class="form-pair">
        <NumberField
          label="Largest slope"
          unit="°"
          value={u.maxSlopeDeg}
          fallback="5"
          where="unit"
          name="maxSlopeDeg"
          set={setUnit("maxSlopeDeg")}
        />
        <NumberField
          label="Slope for caution"
          unit="°"
          value={u.cautionSlopeDeg}
          fallback="3"
          where="unit"
          name="cautionSlopeDeg"
          set={setUnit("cautionSlopeDeg")}
        />
      </div>
      <div class="form-pair">
        <NumberField
          label="Fuel"
          unit="L"
          value={u.fuelL}
          fallback="not known"
          where="unit"
          name="fuelL"
          set={setUnit("fuelL")}
        />
        <NumberField
          label="Fuel use"
          unit="L/h"
          value={u.burnLPerH}
          fallback="not known"
          where="unit"
          name="burnLPerH"
          set={setUnit("burnLPerH")}
        />
      </div>
      <ul class="rows">
        {u.services.map((s) => (
          <li key={s.id} class="service">
            <b>{s.name ?? s.id}</b>
            <span class="mid">
              {num(s.kind === "wifi" ? s.frequencyMHz : s.downlinkMHz)} MHz, {num(s.txPowerDbm, 1)} dBm,{" "}
              {num(s.antenna.gainDbi, 1)} dBi; {s.needs.map((n) => n.name ?? n.id).join(", ")}
            </span>
          </li>
        ))}
      </ul>
      {u.dish !== undefined && (
        <>
          <h3>Dish</h3>
          <div class="form-pair">
            <NumberField
              label="Diameter"
              unit="m"
              value={u.dish.diameterM}
              where="dish"
              name="diameterM"
              set={setDish("diameterM")}
            />
            <NumberField
              label="Eye height"
              unit="m"
              value={u.dish.eyeHeightM}
              where="dish"
              name="eyeHeightM"
              set={setDish("eyeHeightM")}
            />
          </div>
          <div class="form-pair">
            <NumberField
              label="Margin to hard objects"
              unit="°"
              value={u.dish.marginDeg}
              fallback="5"
              where="dish"
              name="marginDeg"
              set={setDish("marginDeg")}
            />
            <NumberField
              label="Margin to trees"
              unit="°"
              value={u.dish.treeMarginDeg}
              fallback="10"
              where="dish"
              name="treeMarginDeg"
              set={setDish("treeMarginDeg")}
            />
          </div>
        </>
      )}
      <ChoiceField<"leaf-on" | "leaf-off">
        label="Season"
        value={plan.value?.season ?? "leaf-on"}
        options={[
          { id: "leaf-on", name: "leaves on" },
          { id: "leaf-off", name: "leaves off" },
        ]}
        set={(v) => change("Changed the season", (p: Plan) => ({ ...p, season: v }))}
      />
    </div>
  );
}
