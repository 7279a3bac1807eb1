"""Pure, unitless geometry. Points are complex numbers, y up; knows no marker, letter or page."""
