"""Rebuild the house style that is shipped: python tests/refresh_house_style.py."""

from sitefare.outputs.docx_reference import SHIPPED, reference

if __name__ == "__main__":
    SHIPPED.write_bytes(reference())
