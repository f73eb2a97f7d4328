"""insight"""
