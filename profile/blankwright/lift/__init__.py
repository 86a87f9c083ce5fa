"""From a thing that exists to its outline: scans, photos, drawings and points measured by hand."""
