import { spots } from "../state/runs.ts";
import { folded, select, selected } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";
import { Slab } from "../ui/parts.tsx";

/** The folded panel: one slab per spot. */
export function SlabStrip() {
  return (
    <div class="slab-strip scroll">
      <button
        type="button"
        class="btn icon quiet"
        aria-label="Unfold the panel"
        onClick={() => {
          folded.value = false;
        }}
      >
        <Icon name="hs-i-right" />
      </button>
      <ol>
        {spots.value.map((s) => (
          <li key={s.id}>
            <button
              type="button"
              aria-label={`Spot ${s.rank}, ${s.name}`}
              title={s.name}
              aria-current={selected.value === s.id ? "true" : undefined}
              onClick={() => select(s.id)}
            >
              <Slab text={s.rank} kind={selected.value === s.id ? "selected" : s.feasible ? "full" : "open"} />
            </button>
          </li>
        ))}
      </ol>
    </div>
  );
}
