"""The atlas: every cell of an area scored in every kit, as a site without a trip."""
