"""The working habits of a guild by which the analyser turns pins into pairs and thread."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from archive.records.measurement import Count, Positive


class HouseRules(BaseModel):
    """House rules that turn pins into pairs and thread.

    These are working habits, not facts: every default is common practice without a
    published source, and a guild sets its own in `collection.toml`.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)

    torchon_wraps_low: Positive = 10
    """Fewest wraps of thread that fill one footside gap of a 45° ground."""
    torchon_wraps_high: Positive = 12
    """Most wraps of thread that fill one footside gap of a 45° ground."""
    point_ground_wraps_low: Positive = 8
    """Fewest wraps of thread that fill one footside gap of a steeper ground."""
    point_ground_wraps_high: Positive = 10
    """Most wraps of thread that fill one footside gap of a steeper ground."""
    foot_passive_pairs: Count = 2
    """Passive pairs between the edge pin and the catch pin of a footside off the ground."""
    foot_edge_pairs: Count = 1
    """Edge pairs of such a footside."""
    head_passive_pairs: Count = 2
    """Passive pairs that follow a shaped headside."""
