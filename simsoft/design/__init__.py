"""Many cases from one: vary, keep, judge by the brief, pick, back to CAD."""
