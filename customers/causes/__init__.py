"""What a dealer found out about causes: own causes and questions, corrected numbers, finished jobs."""
