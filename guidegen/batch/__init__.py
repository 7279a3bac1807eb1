"""Many jobs from one list: the manifest, what is known of earlier runs, where results go, who does the work."""
