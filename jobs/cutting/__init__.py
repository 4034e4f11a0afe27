"""The planner: what to cut from what. Plain Python on whole numbers; knows neither Django nor the shop."""
