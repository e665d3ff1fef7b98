"""After the job: what past jobs and cups say about this resin in this shop."""
