"""Enquiries: what somebody tells on the phone or by a mailed page, before and after there is a household for it."""
