"""Reading: units, catalogue, the job's models, and messages with file and key."""
