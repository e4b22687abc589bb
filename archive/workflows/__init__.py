"""What people do with a collection: plain functions that join the peers below."""
