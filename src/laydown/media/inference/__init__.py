"""What swatches and trials teach of any model: fit, noise, prediction, learning, design."""
