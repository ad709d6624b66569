"""The command line door: parse, call a task, render. No decisions."""
