"""graph"""
