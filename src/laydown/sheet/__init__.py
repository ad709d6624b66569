"""What a sheet is: cells to color in, ids, marker bits, millimetres. Pure; opens no file."""
