"""The live workbook: one module a topic, `sheet(made)` each; `frame` says what stands on a sheet."""
