"""round"""
