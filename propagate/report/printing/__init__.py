"""Print pieces at true scale: laid to save paper, on one sheet, on sheets or on tiles."""
