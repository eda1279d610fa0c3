"""One module a view; each shows what a service returns and holds no arithmetic."""
