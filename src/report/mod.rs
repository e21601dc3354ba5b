//! Text, Markdown, HTML and pictures.
