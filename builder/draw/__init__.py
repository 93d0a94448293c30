"""Chess boards, drawn: for the site (SVG), for print (our own font), as PNG and as text."""
