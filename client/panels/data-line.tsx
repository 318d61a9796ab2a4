import { result } from "../state/runs.ts";
import { ground, namesGround, plan } from "../state/session.ts";
import { dialog, narrow, planId } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";

export function cautions(): string[] {
  // What the data lack comes first; the general cautions follow.
  const all = [...(ground.value?.warnings.map((w) => w.text) ?? []), ...(result.value?.rank.cautions ?? [])];
  const firstWords = new Set<string>();
  return all.filter((text) => {
    // The line itself says this, always.
    if (/^prediction, not a promise/i.test(text)) return false;
    const key = text.split(/[.:]/)[0]!.trim().toLowerCase();
    if (firstWords.has(key)) return false;
    firstWords.add(key);
    return true;
  });
}
const firstSentence = (text: string): string => text.split(". ")[0]!.replace(/\.$/, "");

/** Never hidden: the caution, age and kind of every data set, what is missing. */
export function DataLine() {
  const g = ground.value;
  const said = cautions();
  const open = (): void => {
    dialog.value = "data";
  };
  return (
    <section class="dataline" data-region="dataline" tabIndex={-1} aria-label="Data and cautions">
      {planId.value === null || (plan.value !== null && g === null) ? (
        <>
          <b>{planId.value === null || !namesGround(plan.value) ? "No ground yet." : "Reading the ground."}</b>
          <span class="squeeze">Results need at least one elevation raster, one point and one parking area.</span>
        </>
      ) : (
        <b>Prediction, not a promise.</b>
      )}
      {!narrow.value &&
        g?.datasets.map((d) => (
          <span key={d.file + d.kind} class="set">
            {d.text}
          </span>
        ))}
      {said.length > 0 && (
        <span class="t-caution flag squeeze" title={said.join("\n")}>
          <Icon name="hs-caution" /> <span class="squeeze">{firstSentence(said[0]!)}</span>
        </span>
      )}
      <span class="grow" />
      {planId.value !== null && (
        <button type="button" class="link inset sm" onClick={open}>
          {said.length > 1 ? `${said.length} cautions and data` : "Cautions and data"}
        </button>
      )}
    </section>
  );
}
