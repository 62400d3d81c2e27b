"""The rules a plan is held to, one module a kind of rule."""
