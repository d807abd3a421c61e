"""What people type: form fields that take numbers, amounts and words as they are written."""
