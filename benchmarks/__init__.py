"""Benchmarks: each prints figures and ratios measured side by side in one run."""
