export function TrialPanel() {
  return null;
}
