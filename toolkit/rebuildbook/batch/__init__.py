"""Run many notebooks: execution, staging, processes."""
