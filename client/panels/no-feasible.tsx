export function NoFeasible() {
  return null;
}
