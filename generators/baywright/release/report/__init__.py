"""The report: one page that opens anywhere, with everything in space, findings, balance, lists and files."""
