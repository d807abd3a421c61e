"""From evidence to an accepted quote: engine, figures, catalogue, designs, quotes."""
