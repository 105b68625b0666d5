"""Small pictures for pages: values in, SVG text out, in one ink that the page's light and dark colour."""
