"""What to practise next: the order in which techniques build on each other."""

from archive.learning.steps import MOST_NEW, Stairs, Step, foundations, opened_by

__all__ = ["MOST_NEW", "Stairs", "Step", "foundations", "opened_by"]
