"""Many cases from one: vary, run, keep, resume, judge by the brief, pick."""
