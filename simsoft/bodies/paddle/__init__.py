"""The paddle that bends on its stem: plate and rod solved together."""
