"""Success factors of a stream, and the indicators that watch them."""
