"""Pure decisions: standing, what carries, who may, the gate."""
