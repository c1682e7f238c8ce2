"""Who works here: logging in, roles and what each may do."""
