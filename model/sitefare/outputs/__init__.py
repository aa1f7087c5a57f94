"""Charts, documents, results and runs: all that people hold in their hands."""

import sys

# Altair brings jsonschema, which compiles a grammar of web addresses wherever rfc3987_syntax is
# installed (JupyterLab brings it): one second of every start, five in a kernel. No chart has
# addresses to check; jsonschema goes without the package where it is not found.
sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
