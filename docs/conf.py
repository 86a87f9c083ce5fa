"""How the manual is built:  sphinx-build -W docs out/manual  (the extra `docs` has what it needs)."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

project = "Blankwright"
author = "The Blankwright developers"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "made"]
myst_enable_extensions = ["deflist", "colon_fence"]
myst_heading_anchors = 3
exclude_patterns = ["_static"]
html_theme = "basic"
html_title = "Blankwright"
html_static_path = ["_static"]
html_css_files = ["manual.css"]
html_copy_source = False
html_show_sourcelink = False
html_sidebars = {"**": ["globaltoc.html", "searchbox.html"]}
html_theme_options = {"globaltoc_collapse": False, "globaltoc_maxdepth": 1, "nosidebar": False}
html_permalinks = False
html_use_index = False
autodoc_member_order = "bysource"
autodoc_typehints = "none"
highlight_language = "none"
napoleon_google_docstring = True
