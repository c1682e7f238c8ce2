"""What has arrived is measured by sample, and accepted or held."""
