import { editing, pickTool, TOOLS, tool } from "../../state/planning.ts";
import { Icon } from "../../ui/icon.tsx";

/** What can be drawn. Everything drawn here can also be typed as coordinates in its form. */
export function DrawTools() {
  return (
    <>
      <div class="seg card draw-tools" role="toolbar" aria-label="Draw">
        <button
          type="button"
          aria-pressed={tool.value === null}
          onClick={() => {
            pickTool(null);
          }}
        >
          <Icon name="hs-i-north" size="s" /> Select
        </button>
        {TOOLS.map((t) => (
          <button
            key={t.id}
            type="button"
            aria-pressed={tool.value === t.id}
            title={`${t.name} (A, then ${t.key.toUpperCase()})`}
            onClick={() => pickTool(t.id)}
          >
            <Icon name={t.icon} size="s" /> {t.name}
          </button>
        ))}
      </div>
      {tool.value !== null && (
        <p class="card draw-hint dn" role="status">
          {hint(TOOLS.find((t) => t.id === tool.value)?.shape)}
        </p>
      )}
      {tool.value === null && editing.value !== null && (
        <p class="vh">Corners can be dragged on the map, or typed in the form.</p>
      )}
    </>
  );
}
function hint(shape: string | undefined): string {
  if (shape === "point") return "Click where it is. Esc stops.";
  if (shape === "linestring") return "Click along it; click the last corner again to finish. Esc stops.";
  return "Click its corners; click the first one again to close it. Esc stops.";
}
