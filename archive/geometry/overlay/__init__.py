"""What was found, drawn over the sheet: the marks, the legend and the canvas they are drawn on."""
