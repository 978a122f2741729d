"""The finished answer: the planner's question, the dated plan, files and answers for others."""
