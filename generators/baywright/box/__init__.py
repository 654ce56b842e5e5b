"""The battery box generator: a bonded and screwed aluminium box for N stacked modules."""
