"""The work sheet: a result told as steps for people who work on paper."""
