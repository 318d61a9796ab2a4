export function ComparePanel() {
  return null;
}
