"""One offline page of a run: answers, brief, moving picture, charts, sliders, all numbers."""
