"""Output for people and programs: text, JSON and figures, made from a finished run."""
