"""The nouns a shop keeps: people, machines, jobs, setup sheets and the records of what happened."""
