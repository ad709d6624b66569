"""The invented demo: its ranges and papers as data, and the simulated bench they were made on."""
