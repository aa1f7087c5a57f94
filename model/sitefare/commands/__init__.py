"""Commands that stand in modules of their own; each module's `add` puts its commands on the app."""
