"""How does a notebook's kernel start without importing everything anew?

A process that has imported what notebooks need (`nursery`) forks a kernel whenever one is asked
for (`forked`). Jupyter finds it as a kernel provisioner (`provisioner`), so papermill and
JupyterLab use it by the kernel's name, `sitefare_warm`. Where a process cannot fork, or anything
goes wrong, the kernel starts in the ordinary way. A kernel is never used twice.
"""
