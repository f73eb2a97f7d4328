"""hole"""
