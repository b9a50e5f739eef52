"""Git and TOML adapters: the only room that speaks git."""
