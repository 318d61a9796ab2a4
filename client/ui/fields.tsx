import { signal } from "@preact/signals";
import { useEffect, useId, useState } from "preact/hooks";
import { Icon } from "./icon.tsx";

type Check = typeof import("../lib/validate.ts").fieldProblem;
/** The schema comes with the plan stage, not with the first paint. */
export const fieldCheck = signal<Check | null>(null);
export const loadChecks = (): void => {
  if (fieldCheck.value === null)
    void import("../lib/validate.ts").then((m) => {
      fieldCheck.value = m.fieldProblem;
    });
};
/** Fields that hold something that cannot be stored, by name. */
export const wrongFields = signal<ReadonlySet<string>>(new Set());
function markWrong(id: string, wrong: boolean): void {
  if (wrongFields.peek().has(id) === wrong) return;
  const next = new Set(wrongFields.peek());
  if (wrong) next.add(id);
  else next.delete(id);
  wrongFields.value = next;
}

export function TextField(props: {
  label: string;
  value: string | undefined;
  max?: number;
  where: string;
  name: string;
  hazard?: string;
  set: (v: string | undefined) => void;
}) {
  const id = useId();
  const [text, setText] = useState(props.value ?? "");
  useEffect(() => setText(props.value ?? ""), [props.value]);
  const value = text.trim() === "" ? undefined : text.trim();
  const problem = fieldCheck.value?.(props.where, props.name, value, props.hazard) ?? "";
  useEffect(() => {
    markWrong(id, problem !== "");
    return () => markWrong(id, false);
  }, [problem]);
  return (
    <div class="form-field">
      <label for={id}>{props.label}</label>
      <input
        id={id}
        class={`text ${problem === "" ? "" : "wrong"}`}
        value={text}
        maxLength={props.max}
        aria-invalid={problem !== ""}
        aria-describedby={`${id}-say`}
        onInput={(e) => setText(e.currentTarget.value)}
        onBlur={() => problem === "" && value !== props.value && props.set(value)}
        onKeyDown={(e) => e.key === "Enter" && e.currentTarget.blur()}
      />
      <Problem id={`${id}-say`} text={problem} />
    </div>
  );
}

export function NumberField(props: {
  label: string;
  unit: string;
  value: number | undefined;
  /** What holds when nothing is typed, as text. */
  fallback?: string;
  help?: string;
  where: string;
  name: string;
  hazard?: string;
  set: (v: number | undefined) => void;
}) {
  const id = useId();
  const shown = props.value === undefined ? "" : String(props.value);
  const [text, setText] = useState(shown);
  useEffect(() => setText(shown), [shown]);
  const trimmed = text.trim().replace("\u2212", "-").replace(",", ".");
  const value = trimmed === "" ? undefined : Number(trimmed);
  const problem =
    value !== undefined && Number.isNaN(value)
      ? "A number is expected here."
      : props.unit === "%" && value !== undefined && value > 100
        ? `${text.trim()} % is more than everything. Type a share from 1 to 99.`
        : (fieldCheck.value?.(props.where, props.name, value, props.hazard) ?? "");
  useEffect(() => {
    markWrong(id, problem !== "");
    return () => markWrong(id, false);
  }, [problem]);
  return (
    <div class="form-field">
      <label for={id}>{props.label}</label>
      <span class={`field ${problem === "" ? "" : "wrong"}`}>
        <input
          id={id}
          inputMode="decimal"
          value={text}
          placeholder={props.fallback ?? ""}
          autocomplete="off"
          aria-invalid={problem !== ""}
          aria-describedby={`${id}-say`}
          onInput={(e) => setText(e.currentTarget.value)}
          onBlur={() => problem === "" && value !== props.value && props.set(value)}
          onKeyDown={(e) => e.key === "Enter" && e.currentTarget.blur()}
        />
        <span class="u">{props.unit}</span>
      </span>
      <Problem id={`${id}-say`} text={problem} help={props.help} />
    </div>
  );
}
function Problem(props: { id: string; text: string; help?: string | undefined }) {
  return (
    <p
      id={props.id}
      class={`help ${props.text === "" ? "" : "t-nogo b"}`}
      role={props.text === "" ? undefined : "alert"}
    >
      {props.text !== "" ? (
        <>
          <Icon name="hs-nogo" size="s" /> {props.text}
        </>
      ) : (
        props.help
      )}
    </p>
  );
}

export function ChoiceField<T extends string>(props: {
  label: string;
  value: T;
  options: { id: T; name: string }[];
  help?: string;
  set: (v: T) => void;
}) {
  const id = useId();
  return (
    <div class="form-field">
      <label for={id}>{props.label}</label>
      <select id={id} value={props.value} onChange={(e) => props.set(e.currentTarget.value as T)}>
        {props.options.map((o) => (
          <option key={o.id} value={o.id}>
            {o.name}
          </option>
        ))}
      </select>
      {props.help !== undefined && <p class="help">{props.help}</p>}
    </div>
  );
}

export function SegField<T extends string>(props: {
  label: string;
  value: T;
  options: { id: T; name: string }[];
  set: (v: T) => void;
}) {
  const id = useId();
  return (
    <fieldset class="form-field">
      <legend>{props.label}</legend>
      <div class="seg-field">
        {props.options.map((o) => (
          <label key={o.id} class={props.value === o.id ? "on" : ""}>
            <input type="radio" class="vh" name={id} checked={props.value === o.id} onChange={() => props.set(o.id)} />
            {o.name}
          </label>
        ))}
      </div>
    </fieldset>
  );
}
