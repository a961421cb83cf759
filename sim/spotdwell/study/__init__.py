"""Many runs with one purpose: the self-check against closed forms, and studies over settings."""
