"""Pictures of a run: sections, views from above, histories, films."""
