"""From evidence to a claimed system: hypotheses, likelihoods, and what would settle it."""
