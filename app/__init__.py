"""Where people meet the catalogue: Streamlit views, the command line, printed sheets."""
