import type { MipAnswer, MipJob } from "../../src/placement/index.ts";
import type { TaskContext } from "./tasks.ts";

/** Solves one mixed-integer problem with a solver made for it and thrown away after it; blocks its thread until done or out of time. */
export async function performSolveMip(job: MipJob, task: TaskContext): Promise<MipAnswer> {
  // Read only when it is asked for: most runs place one unit and need no solver.
  const { default: loadSolver } = await import("highs");
  const solver = await loadSolver();
  const { modelStatus, callbackType } = solver.constants;
  return solver.withModel({ format: "lp", data: job.lp }, (model) => {
    // A seed and zero gaps: the same problem gives the same answer, and "optimal" means optimal.
    model.options.set({
      output_flag: false,
      random_seed: 0,
      mip_rel_gap: 0,
      mip_abs_gap: 1e-7,
      time_limit: job.timeLimitS,
    });
    model.run({
      [callbackType.mipInterrupt]: (event: { interrupt(): void }) => {
        if (task.shouldStop()) event.interrupt();
      },
    });
    const code = model.getModelStatus();
    const status: MipAnswer["status"] =
      code === modelStatus.optimal
        ? "optimal"
        : code === modelStatus.infeasible || code === modelStatus.unboundedOrInfeasible
          ? "infeasible"
          : code === modelStatus.timeLimit || code === modelStatus.interrupted || code === modelStatus.solutionLimit
            ? "stopped"
            : "fault";
    const found = Number(model.info.get("primal_solution_status")) === 2;
    const bound = Number(model.info.get("mip_dual_bound"));
    const all = found ? model.getSolution().colValue : null;
    return {
      status,
      values: all === null ? [] : job.columns.map((name) => all[model.getColByName(name)]!),
      objective: found ? model.getObjectiveValue() : null,
      bound: Number.isFinite(bound) && status !== "infeasible" ? bound : null,
      nodes: Number(model.info.get("mip_node_count")),
    };
  });
}
