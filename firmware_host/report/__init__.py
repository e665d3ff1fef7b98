"""The page that a job leaves behind: values in, one self-contained HTML page out."""
