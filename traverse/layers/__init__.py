"""The compiled day as layers and tables for maps and spreadsheets of others."""
