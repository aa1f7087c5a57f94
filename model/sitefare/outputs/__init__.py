"""Charts, documents, results and runs: all that people hold in their hands."""
