"""Wall elevations, sections, temperature maps and charts, as SVG and PNG."""
