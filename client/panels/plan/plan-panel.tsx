export function PlanPanel() {
  return null;
}
