"""An invented practice: set-up, seed and start."""
