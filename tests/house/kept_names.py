"""Names that only a framework calls; vulture would think them dead."""

process_bind_param
process_result_value
